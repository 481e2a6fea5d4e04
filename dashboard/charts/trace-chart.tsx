/** A trace drawn as stacked plots over one time axis, with a common cursor. The drawing itself is uPlot's. */
import { useEffect, useMemo, useRef } from 'preact/hooks'
// Has to stand before the library.
import './known-language.ts'
import uPlot from 'uplot'
import 'uplot/dist/uPlot.min.css'
import type { TraceView, WhyView } from '../../edge/api/messages.ts'
import type { LogEntry } from '../../edge/trend-views.ts'
import { say } from '../messages.ts'
import { clockWithZone } from '../times.ts'
import { entryInWords } from '../trends/log-words.ts'
import { besideOf } from './trace-beside.ts'
import { type Panel, relativeSeconds, secondsAt, toBands, toPanels, zeroTMs } from './trace-panels.ts'
import { isOnPaper, linesOf, plotOptions, type TraceFrame } from './trace-plot.ts'
import { useColours } from './use-colours.ts'

const Plot = ({ panel, frame, isFirst }: { panel: Panel; frame: TraceFrame; isFirst: boolean }) => {
  const box = useRef<HTMLDivElement>(null)
  const colours = useColours()
  // `colours` is among the dependencies to draw anew.
  useEffect(() => {
    const element = box.current
    if (element === null) return
    const plot = new uPlot(
      plotOptions(panel, frame, element, isFirst),
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
  }, [panel, frame, isFirst, colours])
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
  /** The roll ended and no cycle came for it. */
  isMissed: boolean
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

export const TraceChart = ({ trace, zone, isMissed, band, settingMm, cutShort, beside, done }: TraceChartProps) => {
  const panels = useMemo(
    () => toPanels(trace, band, settingMm, beside && besideOf(trace, beside)),
    [trace, band, settingMm, beside],
  )
  const frame = useMemo<TraceFrame>(
    () => ({
      syncKey: trace.id,
      seconds: relativeSeconds(trace),
      bands: toBands(trace),
      marks: [
        {
          seconds: secondsAt(trace, trace.started),
          label: say(isMissed ? 'trace.missed' : 'trace.started'),
          dash: [2, 3],
          endsThere: true,
        },
        ...(trace.transfer === null ? [] : [{ seconds: 0, label: say('trace.transfer'), dash: [], endsThere: false }]),
        ...[
          ...done
            .filter(({ taken_back }) => taken_back === null)
            .map((entry) => ({ time: entry.time, label: entryInWords(entry) })),
          ...(cutShort === null ? [] : [{ time: cutShort, label: say('trace.cut_short') }]),
        ].map(({ time, label }) => ({ seconds: secondsAt(trace, time), label, dash: [7, 4], endsThere: false })),
      ],
    }),
    [trace, isMissed, cutShort, done],
  )
  const zero = trace.transfer !== null ? 'transfer' : isMissed ? 'missed' : 'started'
  return (
    <div class="plots">
      <p class="trace-zero" data-part="zero">
        {say(`trace.zero.${zero}`, { time: clockWithZone(zeroTMs(trace), zone) })}
      </p>
      {panels.map((panel, index) => (
        <Plot key={panel.key} panel={panel} frame={frame} isFirst={index === 0} />
      ))}
    </div>
  )
}
