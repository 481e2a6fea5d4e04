/** Draws how the last good splices went behind a trace, and chooses an axis on which noise looks like noise. */
import uPlot from 'uplot'
import type { Panel, UsualBand } from './trace-panels.ts'

/** Stretches without a gap: [from, to] indices. */
const stretches = ({ low, high }: UsualBand): [number, number][] => {
  const found: [number, number][] = []
  let from = -1
  low.forEach((value, index) => {
    const isThere = value !== null && high[index] !== null
    if (isThere && from < 0) from = index
    const isEnd = from >= 0 && (!isThere || index === low.length - 1)
    if (isEnd) {
      found.push([from, isThere ? index : index - 1])
      from = -1
    }
  })
  return found
}

export const drawUsual =
  (panel: Panel, colour: (name: string) => string) =>
  (plot: uPlot): void => {
    const { ctx, bbox } = plot
    ctx.save()
    ctx.beginPath()
    ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height)
    ctx.clip()
    panel.series.forEach(({ band }, index) => {
      if (band === undefined) return
      const x = (i: number) => plot.valToPos(band.seconds[i]!, 'x', true)
      const y = (value: number | null) => plot.valToPos(value!, 'y', true)
      ctx.globalAlpha = 0.22
      ctx.fillStyle = colour(`trace-${(index % 3) + 1}`)
      for (const [from, to] of stretches(band)) {
        ctx.beginPath()
        for (let i = from; i <= to; i += 1) ctx.lineTo(x(i), y(band.high[i]!))
        for (let i = to; i >= from; i -= 1) ctx.lineTo(x(i), y(band.low[i]!))
        ctx.fill()
        ctx.globalAlpha = 0.6
        ctx.strokeStyle = colour(`trace-${(index % 3) + 1}`)
        ctx.lineWidth = devicePixelRatio
        ctx.setLineDash([])
        ctx.beginPath()
        for (let i = from; i <= to; i += 1) ctx.lineTo(x(i), y(band.median[i]!))
        ctx.stroke()
        ctx.globalAlpha = 0.22
      }
    })
    ctx.restore()
  }

/** The axis of values: what is drawn now and the band beside it, and no less than a span that means something. */
export const valueRange =
  (panel: Panel): uPlot.Scale.Range =>
  (plot, dataLow, dataHigh) => {
    let low = dataLow ?? Number.POSITIVE_INFINITY
    let high = dataHigh ?? Number.NEGATIVE_INFINITY
    const { min = Number.NEGATIVE_INFINITY, max = Number.POSITIVE_INFINITY } = plot.scales['x'] ?? {}
    for (const { band } of panel.series) {
      band?.seconds.forEach((second, i) => {
        if (second < min! || second > max!) return
        low = Math.min(low, band.low[i] ?? low)
        high = Math.max(high, band.high[i] ?? high)
      })
    }
    for (const { value } of panel.levels) {
      low = Math.min(low, value)
      high = Math.max(high, value)
    }
    if (!Number.isFinite(low) || !Number.isFinite(high)) return [0, 1]
    const missing = panel.leastSpan - (high - low)
    if (missing > 0) {
      const below = low >= 0 ? Math.min(low, missing / 2) : missing / 2
      low -= below
      high += missing - below
    }
    return uPlot.rangeNum(low, high, 0.1, true)
  }
