/**
 * Code 128 against what JsBarcode 3.11 (MIT) drew for the same texts, in widths of bars and gaps, and against the standard's own
 * rules (ISO/IEC 15417): eleven modules a symbol, an even number of them in bars, check symbol modulo 103.
 */
import { createHash } from 'node:crypto'
import { describe, expect, it } from 'vitest'
import { code128Values, code128Widths } from '../../dashboard/print/code128.ts'

const widths = (text: string): string => code128Widths(text)!.join('')
const sha256 = (text: string): string => createHash('sha256').update(text).digest('hex')

describe('Code 128', () => {
  it.each([
    ['PJJ123C', '2112143131211121331121331232212232112211321313213113212331112'],
    ['12345678', '2112321122321311233311212411121331212331112'],
    ['A12345678', '2112141113231131411122321311233311212411122211322331112'],
    [
      'label_press-1772431200000',
      '2112142211141211241214211122142211141112241112421212411122141142121142121221321232211131414131113112222123212212312122222122222313112331112',
    ],
  ])('%s is drawn as the library draws it', (text, expected) => {
    expect(widths(text)).toBe(expected)
  })

  it('has every symbol of sets B and C as the library has it', () => {
    const letters = Array.from({ length: 95 }, (_, index) => String.fromCharCode(32 + index)).filter(
      (one) => !/\d/.test(one),
    )
    const pairs = Array.from({ length: 100 }, (_, index) => String(index).padStart(2, '0'))
    expect(sha256(widths(letters.join('')))).toBe('d0b418d895222a0f41467fb0fe47ed837af9a3eb8d688c7878fbcb4780d5e250')
    expect(sha256(widths(pairs.join('')))).toBe('4163d11d1358ec4d1344d96540ccd621d3c6dc6a49c46a72e0d45dbe1f2d955b')
  })

  it('keeps the rules of the standard', () => {
    const text = 'R0001A/77 of 1234567'
    const values = code128Values(text)!
    const sum = values.slice(0, -1).reduce((total, value, place) => total + value * Math.max(1, place), 0)
    expect(values.at(-1)).toBe(sum % 103)
    const all = code128Widths(text)!
    expect(all).toHaveLength(values.length * 6 + 7)
    for (let at = 0; at < values.length * 6; at += 6) {
      const symbol = all.slice(at, at + 6)
      expect(symbol.reduce((total, width) => total + width, 0)).toBe(11)
      expect((symbol[0]! + symbol[2]! + symbol[4]!) % 2).toBe(0)
    }
  })

  it('has no symbol for what the code sets do not have', () => {
    expect(code128Widths('')).toBeUndefined()
    expect(code128Widths('Rölle')).toBeUndefined()
  })
})
