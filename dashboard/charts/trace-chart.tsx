/** A trace drawn as stacked plots over one time axis, with a common cursor. The drawing itself is uPlot's. */
import { useEffect, useMemo, useRef } from 'preact/hooks'
// Has to stand before the library.
import './known-language.ts'
import uPlot from 'uplot'
import 'uplot/dist/uPlot.min.css'
import type { TraceView, WhyView } from '../../edge/api/messages.ts'
import type { LogEntry } from '../../edge/trend-views.ts'
import { say } from '../messages.ts'
import { clockSeconds } from '../times.ts'
import { entryInWords } from '../trends/log-words.ts'
import { besideOf } from './trace-beside.ts'
import { type Panel, relativeSeconds, toBands, toPanels, transferSeconds } from './trace-panels.ts'
import { isOnPaper, linesOf, type PanelPlace, plotOptions, type TraceFrame } from './trace-plot.ts'
import { useColours } from './use-colours.ts'

const Plot = ({ panel, frame, isFirst, isLast }: { panel: Panel; frame: TraceFrame } & PanelPlace) => {
  const box = useRef<HTMLDivElement>(null)
  const colours = useColours()
  // `colours` is among the dependencies to draw anew.
  useEffect(() => {
    const element = box.current
    if (element === null) return
    const plot = new uPlot(
      plotOptions(panel, frame, element, { isFirst, isLast }),
      [frame.seconds, ...linesOf(panel).map(({ values }) => values)] as uPlot.AlignedData,
      element,
    )
    const observer = new ResizeObserver(() => {
      if (!isOnPaper() && element.clientWidth > 0 && element.clientWidth !== plot.width)
        plot.setSize({ width: element.clientWidth, height: plot.height })
    })
    observer.observe(element)
    return () => {
      observer.disconnect()
      plot.destroy()
    }
  }, [panel, frame, isFirst, isLast, colours])
  return (
    <figure class="plot">
      <figcaption>
        {panel.title} <span class="unit">{panel.unit}</span>
      </figcaption>
      <div ref={box} role="img" aria-label={say('trace.chart', { panel: panel.title, unit: panel.unit })} />
    </figure>
  )
}

export interface TraceChartProps {
  trace: TraceView
  zone: string
  /** What happened at second 0: a cycle's start, or the end of a roll that no cycle came for. */
  startLabel: string
  /** How the last good ones went; null where there are too few. */
  band: WhyView['band']
  /** Diameter at which the splicer was set to start, mm. */
  settingMm: number | null
  /** When the monitor or its plant ended meanwhile; else null. */
  cutShort: string | null
  /** Another splice's trace to lay beside it. */
  beside: TraceView | undefined
  /** What was set or served meanwhile. */
  done: readonly LogEntry[]
}

export const TraceChart = ({ trace, zone, startLabel, band, settingMm, cutShort, beside, done }: TraceChartProps) => {
  const panels = useMemo(
    () => toPanels(trace, band, settingMm, beside && besideOf(trace, beside)),
    [trace, band, settingMm, beside],
  )
  const frame = useMemo<TraceFrame>(() => {
    const startedTMs = Date.parse(trace.started)
    return {
      syncKey: trace.id,
      seconds: relativeSeconds(trace),
      bands: toBands(trace),
      transferS: transferSeconds(trace),
      startLabel,
      done: [
        ...done.map((entry) => ({ time: entry.time, label: entryInWords(entry) })),
        ...(cutShort === null ? [] : [{ time: cutShort, label: say('trace.cut_short') }]),
      ].map(({ time, label }) => ({ seconds: (Date.parse(time) - startedTMs) / 1000, label })),
      clockAt: (seconds) => clockSeconds(startedTMs + seconds * 1000, zone),
    }
  }, [trace, zone, startLabel, cutShort, done])
  return (
    <div class="plots">
      {panels.map((panel, index) => (
        <Plot key={panel.key} panel={panel} frame={frame} isFirst={index === 0} isLast={index === panels.length - 1} />
      ))}
    </div>
  )
}
