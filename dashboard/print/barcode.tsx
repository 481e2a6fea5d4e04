/** A Code 128 symbol as a drawing; the text stands below it for people. */
import { code128Widths } from './code128.ts'

/** Free space on either side, modules (ISO/IEC 15417: ten at least). */
const QUIET = 10
const HEIGHT = 40

export const Barcode = ({ text }: { text: string }) => {
  const widths = code128Widths(text)
  if (widths === undefined) return null
  const total = widths.reduce((sum, width) => sum + width, 2 * QUIET)
  let x = QUIET
  const bars = widths.flatMap((width, index) => {
    const from = x
    x += width
    return index % 2 === 0 ? `M${from} 0h${width}v${HEIGHT}h-${width}z` : []
  })
  return (
    <svg class="barcode" viewBox={`0 0 ${total} ${HEIGHT}`} preserveAspectRatio="none" role="img" aria-label={text}>
      <rect width={total} height={HEIGHT} class="barcode-paper" />
      <path d={bars.join('')} class="barcode-bars" />
    </svg>
  )
}
