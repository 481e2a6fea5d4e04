/** Where things stand across a lane, px: rows are planned before they are drawn, so their room has to be known. Pure. */
import type { WallFit } from './legibility.ts'
import type { Fonts } from './row-plan.ts'

export interface Columns {
  /** Roll, festoon, and below them what is read from near. */
  artPx: number
  gapPx: number
  timePx: number
  /** Only where all of a lane is one row: what is read from near. */
  nearPx: number
  /** Room of the name, and of what stands beside it in its row. */
  namePx: number
  /** Room of the verb with its facts; of the verb alone in one row. */
  doPx: number
  /** Room of the facts in one row. */
  factsPx: number
}

/** The longest figures, `9:50 min`, with letters a fifth narrower. */
const TIME_EM = 3.3
/** A button that is read from near, in its own font size. */
const NEAR_EM = 7.2
/** Beside each other in one row the name, the verb and the facts share what is left. */
const SHARES = [0.26, 0.33, 0.41] as const

export const columnsOf = (widthPx: number, { bigPx }: Fonts, nearFontPx: number, fit: WallFit): Columns => {
  const timePx = TIME_EM * bigPx
  if (fit.isOneLine) {
    const [artPx, gapPx, nearPx] = [2.1 * bigPx, 0.32 * bigPx, NEAR_EM * nearFontPx]
    const room = Math.max(0, widthPx - artPx - timePx - nearPx - 5 * gapPx)
    const [namePx, doPx, factsPx] = SHARES.map((share) => share * room) as [number, number, number]
    return { artPx, gapPx, timePx, nearPx, namePx, doPx, factsPx }
  }
  const [artPx, gapPx] = [Math.max(1.02 * bigPx, NEAR_EM * nearFontPx), 0.2 * bigPx]
  const doPx = Math.max(0, widthPx - artPx - gapPx)
  return { artPx, gapPx, timePx, nearPx: 0, namePx: Math.max(0, doPx - timePx - gapPx), doPx, factsPx: doPx }
}
