/**
 * Code 128 (ISO/IEC 15417): text as widths of bars and gaps. Code sets B and C; the table is the standard's, from memory, and
 * was compared with a general barcode library once (test/dashboard/code128.test.ts has what that gave). Pure.
 */

/** Widths of bar, gap, bar, gap, bar, gap in modules, by value 0 to 105; then the stop. */
const WIDTHS = (
  '212222 222122 222221 121223 121322 131222 122213 122312 132212 221213 221312 231212 112232 122132 122231 113222 123122 ' +
  '123221 223211 221132 221231 213212 223112 312131 311222 321122 321221 312212 322112 322211 212123 212321 232121 111323 ' +
  '131123 131321 112313 132113 132311 211313 231113 231311 112133 112331 132131 113123 113321 133121 313121 211331 231131 ' +
  '213113 213311 213131 311123 311321 331121 312113 312311 332111 314111 221411 431111 111224 111422 121124 121421 141122 ' +
  '141221 112214 112412 122114 122411 142112 142211 241211 221114 413111 241112 134111 111242 121142 121241 114212 124112 ' +
  '124211 411212 421112 421211 212141 214121 412121 111143 111341 131141 114113 114311 411113 411311 113141 114131 311141 ' +
  '411131 211412 211214 211232 2331112'
).split(' ')

const CODE_C = 99
const CODE_B = 100
const START_B = 104
const START_C = 105
const STOP = 106
/** Digits in a row from which on two in one symbol are shorter: at an end four, in the middle six (ISO/IEC 15417, annex). */
const LEAST_DIGITS = 4

/** Values of the symbols from start to check; undefined for text that code set B does not have. */
export function code128Values(text: string): number[] | undefined {
  if (text === '' || !/^[ -~]+$/.test(text)) return undefined
  const values: number[] = []
  let isC = false
  for (let at = 0; at < text.length; ) {
    const digits = /^\d+/.exec(text.slice(at))?.[0].length ?? 0
    const isEnd = at === 0 || at + digits === text.length
    const pairs = digits - (digits % 2)
    // An odd digit goes before the pairs unless they stand at the beginning.
    if (pairs >= (isEnd ? LEAST_DIGITS : LEAST_DIGITS + 2) && (digits % 2 === 0 || at === 0)) {
      if (!isC) values.push(values.length === 0 ? START_C : CODE_C)
      isC = true
      for (const end = at + pairs; at < end; at += 2) values.push(Number(text.slice(at, at + 2)))
    } else {
      if (isC) values.push(CODE_B)
      else if (values.length === 0) values.push(START_B)
      isC = false
      values.push(text.charCodeAt(at) - 32)
      at += 1
    }
  }
  const sum = values.reduce((total, value, place) => total + value * Math.max(1, place), 0)
  return [...values, sum % 103]
}

/** Widths in modules, bar first, of the whole symbol without its quiet zones. */
export function code128Widths(text: string): number[] | undefined {
  const values = code128Values(text)
  return values && [...values, STOP].flatMap((value) => [...WIDTHS[value]!].map(Number))
}
