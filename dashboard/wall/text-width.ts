/** How wide a text is in the page's own font, measured once without laying the page out. */
import type { WidthOf } from './row-plan.ts'

const MEASURED_PX = 100
/** Texts hold times of day, so there are ever new ones: beyond so many all are measured anew. */
const MOST_KEPT = 400

const kept = new Map<string, number>()
let context: CanvasRenderingContext2D | null | undefined
let family = ''

export const textWidth: WidthOf = (text, fontPx, isBold) => {
  const key = `${isBold} ${text}`
  let width = kept.get(key)
  if (width === undefined) {
    if (context === undefined) {
      context = document.createElement('canvas').getContext('2d')
      family = getComputedStyle(document.body).fontFamily
    }
    if (context !== null) context.font = `${isBold ? 'bold ' : ''}${MEASURED_PX}px ${family}`
    // Without a canvas: six tenths of the height is wider than most letters.
    width = context?.measureText(text).width ?? text.length * MEASURED_PX * 0.6
    if (kept.size >= MOST_KEPT) kept.clear()
    kept.set(key, width)
  }
  return (width * fontPx) / MEASURED_PX
}
