/** Time to splice against time of day: the interval as a band, the forecast as a line, what then happened dashed. */
import { useEffect, useRef } from 'preact/hooks'
// Has to stand before the library.
import '../charts/known-language.ts'
import uPlot from 'uplot'
import 'uplot/dist/uPlot.min.css'
import type { SpliceView } from '../../edge/api/messages.ts'
import type { HistoryView } from '../../edge/api/messages-history.ts'
import { chartFont, chartScale } from '../charts/chart-scale.ts'
import { useColours } from '../charts/use-colours.ts'
import { say } from '../messages.ts'
import { clockMinutes, dateAndTime, dayAndMinutes, zoneName } from '../times.ts'
import { formatNumber } from '../units.ts'
import { pastSeries, topMinutes } from './past-series.ts'

const HEIGHT_PX = 260
/** Steps of the time axis, s: times that people say. */
const WHOLE_TIMES_S = [300, 600, 900, 1800, 3600, 7200, 10_800, 21_600, 43_200, 86_400]

export interface HistoryChartProps {
  past: HistoryView
  splices: readonly SpliceView[]
  zone: string
  name: string
}

const optionsFor = (element: HTMLElement, past: HistoryView, zone: string, topMin: number): uPlot.Options => {
  const style = getComputedStyle(element)
  const colour = (name: string): string => style.getPropertyValue(`--${name}`).trim()
  const [scale, font] = [chartScale(), chartFont(13)]
  const axis = {
    stroke: colour('soft'),
    grid: { stroke: colour('line'), width: 1 },
    ticks: { stroke: colour('line'), width: 1 },
    font,
  }
  const text = (_plot: uPlot, value: number | null): string =>
    value === null ? say('value.unknown') : `${formatNumber(value, 1)} ${say('time.min')}`
  const hasDays = Date.parse(past.to) - Date.parse(past.from) > 86_400_000
  const line = { points: { show: false }, spanGaps: false, value: text }
  return {
    width: Math.max(200, element.clientWidth),
    height: HEIGHT_PX * scale,
    cursor: { drag: { x: false, y: false }, points: { size: 7 } },
    scales: {
      x: { time: false, range: [Date.parse(past.from) / 1000, Date.parse(past.to) / 1000] },
      y: { range: [0, topMin] },
    },
    bands: [{ series: [3, 2], fill: colour('band-b') }],
    axes: [
      {
        ...axis,
        space: 90 * scale,
        size: 50 * scale,
        incrs: WHOLE_TIMES_S,
        values: (_plot, splits) =>
          splits.map((s) =>
            hasDays ? dayAndMinutes(s * 1000, zone).replace(' ', '\n') : clockMinutes(s * 1000, zone),
          ),
      },
      { ...axis, size: 48 * scale, label: say('past.axis'), labelSize: 20 * scale, labelFont: font },
    ],
    series: [
      {
        label: say('trace.time'),
        value: (_plot, s) => (s === null ? '' : `${dateAndTime(s * 1000, zone)} ${zoneName(s * 1000, zone)}`),
      },
      { ...line, label: say('past.forecast'), stroke: colour('trace-1'), width: 2 },
      { ...line, label: say('past.low'), stroke: colour('soft'), width: 0 },
      { ...line, label: say('past.high'), stroke: colour('soft'), width: 0 },
      { ...line, label: say('past.actual'), stroke: colour('trace-2'), width: 2, dash: [7, 5] },
    ],
  }
}

export const HistoryChart = ({ past, splices, zone, name }: HistoryChartProps) => {
  const box = useRef<HTMLDivElement>(null)
  const colours = useColours()
  // `colours` is among the dependencies to draw anew.
  useEffect(() => {
    const element = box.current
    if (element === null) return
    const starts = splices.map(({ started }) => Date.parse(started))
    const series = pastSeries(past, starts)
    const { time, forecast, low, high, actual } = series
    const plot = new uPlot(
      optionsFor(element, past, zone, topMinutes(series)),
      [time, forecast, low, high, actual],
      element,
    )
    const resized = new ResizeObserver(() => {
      const width = element.clientWidth
      if (width > 0 && width !== plot.width) plot.setSize({ width, height: HEIGHT_PX * chartScale() })
    })
    resized.observe(element)
    return () => {
      resized.disconnect()
      plot.destroy()
    }
  }, [past, splices, zone, colours])
  return <div class="past-chart" ref={box} role="img" aria-label={say('past.drawing', { unwind: name })} />
}
