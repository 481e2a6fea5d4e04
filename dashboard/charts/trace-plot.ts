/** How one panel of a trace is drawn: axes with units, phases as bands, start and transfer as marks, gaps where there was no value. */
import uPlot from 'uplot'
import { say } from '../messages.ts'
import { formatNumber } from '../units.ts'
import { chartFont, chartScale } from './chart-scale.ts'
import { placeMarks } from './mark-rows.ts'
import type { Panel, PhaseBand } from './trace-panels.ts'
import { drawUsual, valueRange } from './usual-band.ts'

export interface TraceFrame {
  syncKey: string
  seconds: number[]
  bands: PhaseBand[]
  transferS: number | undefined
  /** What happened at second 0. */
  startLabel: string
  /** What was set or served, so many seconds from the start; what lies outside of the trace is not drawn. */
  done: readonly { seconds: number; label: string }[]
  /** Time of day at so many seconds from the start. */
  clockAt: (seconds: number) => string
}

/** A state holds until it changes. */
const steps = uPlot.paths.stepped?.({ align: 1 })

/** Where a panel stands: phases are named above the first, time stands below the last. */
export interface PanelPlace {
  isFirst: boolean
  isLast: boolean
}

/** Lines differ by colour and by dash: colour is never alone. */
const DASHES = [[], [9, 5], [2, 4]]
/** The same dashes, as the legend draws them. */
const BORDERS = ['solid', 'dashed', 'dotted']
const PLOT_HEIGHT_PX = 190
const STATE_HEIGHT_PX = 56
const TIME_AXIS_PX = 52
const VALUE_AXIS_PX = 48
const LABEL_ROW_PX = 18
/** Rows above the first panel for the words of its marks; what finds no room there stands in the table of what was set. */
const MOST_MARK_ROWS = 4
const markRows = ({ done, transferS }: TraceFrame): number =>
  Math.min(MOST_MARK_ROWS, 1 + (transferS === undefined ? 0 : 1) + done.length)

/** Fits between the margins of A4 (184 mm) and Letter (190 mm). */
const PAPER_PX = 690
export const isOnPaper = (): boolean => matchMedia('print').matches

const colourOf = (element: HTMLElement) => {
  const style = getComputedStyle(element)
  return (name: string): string => style.getPropertyValue(`--${name}`).trim()
}

const drawBands =
  (frame: TraceFrame, colour: (name: string) => string) =>
  (plot: uPlot): void => {
    const { ctx, bbox } = plot
    ctx.save()
    ctx.beginPath()
    ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height)
    ctx.clip()
    frame.bands.forEach(({ fromS, toS }, index) => {
      const left = plot.valToPos(fromS, 'x', true)
      ctx.fillStyle = colour(index % 2 === 0 ? 'band-a' : 'band-b')
      ctx.fillRect(left, bbox.top, plot.valToPos(toS, 'x', true) - left, bbox.height)
    })
    ctx.restore()
  }

const drawMarks =
  (frame: TraceFrame, colour: (name: string) => string, isFirst: boolean) =>
  (plot: uPlot): void => {
    const { ctx, bbox } = plot
    const ratio = devicePixelRatio
    ctx.save()
    ctx.beginPath()
    const rows = markRows(frame)
    const rowPx = LABEL_ROW_PX * chartScale() * ratio
    const abovePx = (1 + rows) * rowPx
    ctx.rect(bbox.left, bbox.top - abovePx, bbox.width, bbox.height + abovePx)
    ctx.clip()
    ctx.font = chartFont(12, ratio)
    // The axes have left their own alignment behind.
    ctx.textAlign = 'left'
    ctx.textBaseline = 'bottom'
    ctx.fillStyle = colour('soft')
    const line = (seconds: number, dash: number[]) => {
      const x = Math.round(plot.valToPos(seconds, 'x', true))
      ctx.strokeStyle = colour('ink')
      ctx.lineWidth = 1.5 * ratio
      ctx.setLineDash(dash.map((part) => part * ratio))
      ctx.beginPath()
      ctx.moveTo(x, bbox.top)
      ctx.lineTo(x, bbox.top + bbox.height)
      ctx.stroke()
      return x
    }
    const marks = [
      { seconds: 0, dash: [2, 3], label: frame.startLabel, endsThere: true },
      ...(frame.transferS === undefined
        ? []
        : [{ seconds: frame.transferS, dash: [], label: say('trace.transfer'), endsThere: false }]),
      ...frame.done.map(({ seconds, label }) => ({ seconds, dash: [7, 4], label, endsThere: false })),
    ]
      .filter(({ seconds }) => isShown(plot, seconds))
      .map((mark) => ({ ...mark, x: line(mark.seconds, mark.dash) }))
    let used = 0
    if (isFirst) {
      const places = placeMarks(
        marks.map(({ x, label, endsThere }) => ({
          x: x / ratio,
          width: ctx.measureText(label).width / ratio,
          endsThere,
        })),
        { left: bbox.left / ratio, right: (bbox.left + bbox.width) / ratio },
        rows,
      )
      ctx.fillStyle = colour('ink')
      for (const [index, { label }] of marks.entries()) {
        const place = places[index]
        if (place === undefined) continue
        ctx.fillText(label, place.left * ratio, bbox.top - place.row * rowPx - 3 * ratio)
        used = Math.max(used, place.row + 1)
      }
    }
    ctx.fillStyle = colour('soft')
    let freeFrom = bbox.left
    for (const { label, fromS, toS } of isFirst ? frame.bands : []) {
      const [left, right] = [plot.valToPos(fromS, 'x', true), plot.valToPos(toS, 'x', true)]
      const width = ctx.measureText(label).width
      // A short phase is labelled where there is room; the table of phases names them all.
      const x = Math.max(freeFrom, (left + right) / 2 - width / 2)
      if (x > right + 12 * ratio || x + width > bbox.left + bbox.width) continue
      ctx.fillText(label, x, bbox.top - used * rowPx - 3 * ratio)
      freeFrom = x + width + 8 * ratio
    }
    ctx.restore()
  }

const isShown = ({ scales }: uPlot, seconds: number): boolean => {
  const { min, max } = scales['x'] ?? {}
  return typeof min === 'number' && typeof max === 'number' && seconds >= min && seconds <= max
}

const inWords = (panel: Panel, value: number | null): string => {
  if (panel.isState && value !== null) return say(value === 1 ? 'value.yes' : 'value.no')
  return `${formatNumber(value, 1)} ${value === null ? '' : panel.unit}`
}

interface Line {
  label: string
  values: (number | null)[]
  /** Of the signal in its panel: one colour and one dash for what lies beside it too. */
  index: number
  isBeside: boolean
}

/** What is drawn in a panel: each signal, and behind it the same signal of the splice beside. */
export const linesOf = ({ series }: Panel): Line[] =>
  series.flatMap(({ label, values, beside }, index) => [
    { label, values, index, isBeside: false },
    ...(beside === undefined
      ? []
      : [{ label: say('trace.beside', { name: label }), values: beside, index, isBeside: true }]),
  ])

/** What lies beside is thin. */
const widthOf = ({ isBeside }: Line): number => (isBeside ? 1 : 2)

export const plotOptions = (
  panel: Panel,
  frame: TraceFrame,
  element: HTMLElement,
  place: PanelPlace,
): uPlot.Options => {
  const colour = colourOf(element)
  const lines = linesOf(panel)
  const lineAt = (index: number): Line | undefined => lines[index - 1]
  const scale = chartScale()
  const aboveFirst = place.isFirst ? markRows(frame) * LABEL_ROW_PX * scale : 0
  const axis = {
    stroke: colour('soft'),
    grid: { stroke: colour('line'), width: 1 },
    ticks: { stroke: colour('line'), width: 1 },
    font: chartFont(13),
  }
  return {
    width: isOnPaper() ? PAPER_PX : Math.max(200, element.clientWidth),
    height:
      ((panel.isState ? STATE_HEIGHT_PX : PLOT_HEIGHT_PX) + (place.isLast ? TIME_AXIS_PX : 0)) * scale + aboveFirst,
    padding: [place.isFirst ? LABEL_ROW_PX * scale + aboveFirst + 2 : 8, 34 * scale, place.isLast ? 0 : 6, 0],
    cursor: { sync: { key: frame.syncKey }, drag: { x: true, y: false }, points: { size: 7 } },
    scales: { x: { time: false }, y: { range: panel.isState ? [-0.15, 1.15] : valueRange(panel) } },
    legend: {
      markers: {
        width: (_plot, index) => widthOf(lineAt(index) ?? lines[0]!),
        dash: (_plot, index) => BORDERS[(lineAt(index)?.index ?? 0) % BORDERS.length] ?? 'solid',
      },
    },
    hooks: {
      drawClear: [drawBands(frame, colour), drawUsual(panel, colour)],
      draw: [drawMarks(frame, colour, place.isFirst)],
    },
    axes: [
      {
        ...axis,
        size: place.isLast ? TIME_AXIS_PX * scale : 0,
        space: 84 * scale,
        values: (_plot, splits) =>
          splits.map((s) =>
            place.isLast
              ? `${s > 0 ? '+' : ''}${formatNumber(s, Number.isInteger(s) ? 0 : 1)} s\n${frame.clockAt(s)}`
              : '',
          ),
      },
      {
        ...axis,
        size: VALUE_AXIS_PX * scale,
        space: 34 * scale,
        label: panel.unit,
        labelSize: 20 * scale,
        labelFont: axis.font,
        ...(panel.isState ? { splits: [0, 1], values: () => [say('value.no'), say('value.yes')] } : {}),
      },
    ],
    series: [
      {
        label: say('trace.time'),
        value: (_plot, s) =>
          s === null || s === undefined ? say('value.unknown') : `${formatNumber(s, 1)} ${say('unit.s')}`,
      },
      ...lines.map((line) => ({
        label: line.label,
        stroke: colour(`trace-${(line.index % 3) + 1}`),
        width: widthOf(line),
        dash: DASHES[line.index % DASHES.length] ?? [],
        points: { show: false },
        spanGaps: false,
        ...(panel.isState ? { paths: steps } : {}),
        value: (_plot: uPlot, value: number | null) => inWords(panel, value),
      })),
    ],
  }
}
