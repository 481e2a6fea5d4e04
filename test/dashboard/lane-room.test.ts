/** In every language, whatever a lane has to say: what decides has room at 8 m on a 43-inch screen, in a wide font. */
import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { columnsOf } from '../../dashboard/wall/columns.ts'
import { type Item, planRow, type WidthOf } from '../../dashboard/wall/row-plan.ts'

const FOLDER = join(import.meta.dirname, '../../dashboard/messages')
/** Capitals of 20 and 16 arcmin are 93.8 and 75.0 px of 1080 at 8 m, and 0.729 of the font size in a wide font. */
const FONTS = { bigPx: 93.8 / 0.729, midPx: 75.0 / 0.729 }
const COLUMNS = columnsOf(1880, FONTS, 16.5, { perPage: 4, isOneLine: false, hasDetailRow: false })
/** Mean width of a letter of a wide sans serif (DejaVu Sans, measured on English text), shares of the font size. */
const widthOf: WidthOf = (text, fontPx, isBold) => text.length * fontPx * (isBold ? 0.62 : 0.54)

const wordsOf = (language: string) => {
  const texts = JSON.parse(readFileSync(join(FOLDER, language), 'utf8')) as Record<string, string>
  const matching = (pattern: RegExp) =>
    Object.entries(texts)
      .filter(([key]) => pattern.test(key))
      .map(([, text]) => text.replace('{speed}', '165 m/min'))
  return {
    calm: matching(/^verb\.(?!slow)/),
    orders: [...matching(/^verb\.slow/), ...matching(/^alarm\..*\.do(\.standing)?$/)],
    ready: [...matching(/^missing\./), ...matching(/^ready\.(yes|no|unknown)$/)],
    festoon: matching(/^festoon\.(ok|short|filling|full|refilling|unknown)$/),
  }
}

describe.each(readdirSync(FOLDER).filter((name) => name.endsWith('.json')))('in %s', (language) => {
  const { calm, orders, ready, festoon } = wordsOf(language)
  const lanes = (verbs: readonly string[], isCalm: boolean) =>
    verbs.flatMap((verb) =>
      ready.flatMap((readiness) =>
        festoon.map((buffer): Item[] => [
          {
            part: 'verb',
            text: verb,
            isBig: isCalm,
            isBold: !isCalm,
            isOnBar: !isCalm,
            isLead: true,
            icon: 'high',
            rank: 0,
          },
          { part: 'ready', text: readiness, isBig: isCalm, rank: 0, ...(isCalm ? {} : { icon: 'ring' as const }) },
          { part: 'festoon', text: buffer, isBig: isCalm, rank: 0 },
        ]),
      ),
    )

  it.each([
    ['nothing is wrong', calm, true],
    ['something is', orders, false],
  ] as const)('verb, ready and festoon stand at once where %s', (_when, verbs, isCalm) => {
    const all = lanes(verbs, isCalm)
    expect(all.length).toBeGreaterThan(100)
    const torn = all.filter((items) => planRow(items, COLUMNS.doPx, 0, FONTS, widthOf).items.length < 3)
    expect(torn.map((items) => items.map(({ text }) => text).join(' | '))).toEqual([])
  })
})
