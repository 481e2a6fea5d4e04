/** How one panel of a trace is drawn: axes with units, phases as bands, start and transfer as marks, gaps where there was no value. */
import uPlot from 'uplot'
import { say } from '../messages.ts'
import { formatNumber } from '../units.ts'
import { chartFont, chartScale } from './chart-scale.ts'
import { placeMarks } from './mark-rows.ts'
import { placePhases } from './phase-names.ts'
import type { Panel, PhaseBand } from './trace-panels.ts'
import { drawUsual, valueRange } from './usual-band.ts'

export interface TraceMark {
  /** On the axis; what lies outside of the trace is not drawn. */
  seconds: number
  label: string
  dash: number[]
  endsThere: boolean
}

export interface TraceFrame {
  syncKey: string
  seconds: number[]
  bands: PhaseBand[]
  /** Start, transfer, and what was set or served. */
  marks: readonly TraceMark[]
}

/** A state holds until it changes. */
const steps = uPlot.paths.stepped?.({ align: 1 })

/** Lines differ by colour and by dash: colour is never alone. */
const DASHES = [[], [9, 5], [2, 4]]
/** The same dashes, as the legend draws them. */
const BORDERS = ['solid', 'dashed', 'dotted']
const PLOT_HEIGHT_PX = 190
const STATE_HEIGHT_PX = 56
/** Of each word that a further tag can say. */
const WORD_HEIGHT_PX = 26
const TIME_AXIS_PX = 26
const VALUE_AXIS_PX = 48
/** Of the axis of a count: 1, 2, 5, 10 … */
const WHOLE_STEPS = Array.from({ length: 30 }, (_, i) => [1, 2, 5][i % 3]! * 10 ** Math.floor(i / 3))
const VALUE_LABEL_PX = 20
const RIGHT_PX = 34
const LABEL_ROW_PX = 18
/** Rows above the first panel for the words of its marks; what finds no room there stands in the table of what was set. */
const MOST_MARK_ROWS = 4

/** The words above the first panel, in px of the page: marks beside their lines next to the plot, above them the phases. */
const wordsAbove = (
  frame: TraceFrame,
  widthOf: (text: string) => number,
  xOf: (seconds: number) => number,
  plot: { left: number; right: number },
) => {
  const marks = placeMarks(
    frame.marks.map(({ seconds, label, endsThere }) => ({ x: xOf(seconds), width: widthOf(label), endsThere })),
    plot,
    Math.min(MOST_MARK_ROWS, frame.marks.length),
  ).map((place, i) => {
    const x = xOf(frame.marks[i]!.seconds)
    return x < plot.left || x > plot.right ? undefined : place
  })
  const phases = placePhases(
    frame.bands.map(({ label, fromS, toS }) => ({ left: xOf(fromS), right: xOf(toS), width: widthOf(label) })),
    plot,
  )
  const rowsOf = (places: readonly ({ row: number } | undefined)[]): number =>
    Math.max(0, ...places.map((place) => (place === undefined ? 0 : place.row + 1)))
  return { marks, phases, markRows: rowsOf(marks), phaseRows: rowsOf(phases) }
}

/** How many rows of words the whole trace needs in a plot of this width, px of the page. */
const rowsAbove = (frame: TraceFrame, widthPx: number, scale: number): number => {
  const context = document.createElement('canvas').getContext('2d')
  const [from, to] = [frame.seconds[0], frame.seconds.at(-1)]
  if (context === null || from === undefined || to === undefined || to <= from) return 0
  context.font = chartFont(12)
  const left = (VALUE_AXIS_PX + VALUE_LABEL_PX) * scale
  const right = widthPx - RIGHT_PX * scale
  const { markRows, phaseRows } = wordsAbove(
    frame,
    (text) => context.measureText(text).width,
    (seconds) => left + ((seconds - from) / (to - from)) * (right - left),
    { left, right },
  )
  return markRows + phaseRows
}

/** Fits between the margins of A4 (184 mm) and Letter (190 mm). */
const PAPER_PX = 690
export const isOnPaper = (): boolean => matchMedia('print').matches

const colourOf = (element: HTMLElement) => {
  const style = getComputedStyle(element)
  return (name: string): string => style.getPropertyValue(`--${name}`).trim()
}

/** @param rows - of words above: phases reach up to their names. */
const drawBands =
  (frame: TraceFrame, colour: (name: string) => string, rows: number) =>
  (plot: uPlot): void => {
    const { ctx, bbox } = plot
    const top = bbox.top - rows * LABEL_ROW_PX * chartScale() * devicePixelRatio
    ctx.save()
    ctx.beginPath()
    ctx.rect(bbox.left, top, bbox.width, bbox.top + bbox.height - top)
    ctx.clip()
    frame.bands.forEach(({ fromS, toS }, index) => {
      const left = plot.valToPos(fromS, 'x', true)
      ctx.fillStyle = colour(index % 2 === 0 ? 'band-a' : 'band-b')
      ctx.fillRect(left, top, plot.valToPos(toS, 'x', true) - left, bbox.top + bbox.height - top)
    })
    ctx.restore()
  }

const drawMarks =
  (frame: TraceFrame, colour: (name: string) => string) =>
  (plot: uPlot): void => {
    const { ctx, bbox } = plot
    const ratio = devicePixelRatio
    ctx.save()
    ctx.strokeStyle = colour('ink')
    ctx.lineWidth = 1.5 * ratio
    for (const { seconds, dash } of frame.marks) {
      if (!isShown(plot, seconds)) continue
      const x = Math.round(plot.valToPos(seconds, 'x', true))
      ctx.setLineDash(dash.map((part) => part * ratio))
      ctx.beginPath()
      ctx.moveTo(x, bbox.top)
      ctx.lineTo(x, bbox.top + bbox.height)
      ctx.stroke()
    }
    ctx.restore()
  }

/** @param rows - of room that there is above; nearer in, on a part of the axis, more might be wanted. */
const drawWords =
  (frame: TraceFrame, colour: (name: string) => string, rows: number) =>
  (plot: uPlot): void => {
    const { ctx, bbox } = plot
    const ratio = devicePixelRatio
    const rowPx = LABEL_ROW_PX * chartScale() * ratio
    ctx.save()
    ctx.font = chartFont(12, ratio)
    // The axes have left their own alignment behind.
    ctx.textAlign = 'left'
    ctx.textBaseline = 'bottom'
    ctx.fillStyle = colour('ink')
    ctx.strokeStyle = colour('ink')
    ctx.lineWidth = ratio
    ctx.setLineDash([])
    const { marks, phases, markRows } = wordsAbove(
      frame,
      (text) => ctx.measureText(text).width / ratio,
      (seconds) => plot.valToPos(seconds, 'x', true) / ratio,
      { left: bbox.left / ratio, right: (bbox.left + bbox.width) / ratio },
    )
    const baseOf = (row: number): number => bbox.top - row * rowPx - 3 * ratio
    const write = (label: string, left: number, row: number) => {
      if (row < rows) ctx.fillText(label, left * ratio, baseOf(row))
    }
    marks.forEach((place, i) => {
      if (place !== undefined) write(frame.marks[i]!.label, place.left, place.row)
    })
    phases.forEach((place, i) => {
      if (place === undefined) return
      const row = markRows + place.row
      write(frame.bands[i]!.label, place.left, row)
      if (place.leader === undefined || row >= rows) return
      const isBeside =
        place.leader < place.left || place.leader > place.left + ctx.measureText(frame.bands[i]!.label).width / ratio
      ctx.beginPath()
      ctx.moveTo(place.leader * ratio, bbox.top - markRows * rowPx)
      ctx.lineTo(place.leader * ratio, isBeside ? baseOf(row + 1) + 3 * ratio : baseOf(row) - ratio)
      ctx.stroke()
    })
    ctx.restore()
  }

const isShown = ({ scales }: uPlot, seconds: number): boolean => {
  const { min, max } = scales['x'] ?? {}
  return typeof min === 'number' && typeof max === 'number' && seconds >= min && seconds <= max
}

/** Thin, and named above the line, where the plot begins. */
const drawLevels =
  ({ levels }: Panel, colour: (name: string) => string) =>
  (plot: uPlot): void => {
    const { ctx, bbox } = plot
    const ratio = devicePixelRatio
    ctx.save()
    ctx.font = chartFont(12, ratio)
    ctx.textAlign = 'left'
    ctx.textBaseline = 'bottom'
    ctx.fillStyle = colour('soft')
    ctx.strokeStyle = colour('soft')
    ctx.lineWidth = ratio
    for (const { value, label } of levels) {
      const y = Math.round(plot.valToPos(value, 'y', true))
      ctx.beginPath()
      ctx.moveTo(bbox.left, y)
      ctx.lineTo(bbox.left + bbox.width, y)
      ctx.stroke()
      ctx.fillText(label, bbox.left + 6 * ratio, y - 2 * ratio)
    }
    ctx.restore()
  }

const inWords = (panel: Panel, value: number | null): string => {
  const word = value === null ? undefined : panel.words[value]
  if (word !== undefined) return word
  if (panel.isState && value !== null) return say(value === 1 ? 'value.yes' : 'value.no')
  return `${formatNumber(value, panel.isCount ? 0 : 1)} ${value === null ? '' : panel.unit}`
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

const heightOf = ({ isState, words }: Panel): number =>
  words.length > 0 ? (words.length + 0.5) * WORD_HEIGHT_PX : isState ? STATE_HEIGHT_PX : PLOT_HEIGHT_PX

/** Room above the highest word. */
const rangeOf = (panel: Panel): uPlot.Scale.Range => {
  if (panel.words.length > 0) return [-0.3, panel.words.length - 0.2]
  return panel.isState ? [-0.15, 1.15] : valueRange(panel)
}

export const plotOptions = (panel: Panel, frame: TraceFrame, element: HTMLElement, isFirst: boolean): uPlot.Options => {
  const colour = colourOf(element)
  const lines = linesOf(panel)
  const lineAt = (index: number): Line | undefined => lines[index - 1]
  const scale = chartScale()
  const width = isOnPaper() ? PAPER_PX : Math.max(200, element.clientWidth)
  const rows = isFirst ? rowsAbove(frame, width, scale) : 0
  const abovePx = isFirst ? rows * LABEL_ROW_PX * scale + 4 : 8
  const axis = {
    stroke: colour('soft'),
    grid: { stroke: colour('line'), width: 1 },
    ticks: { stroke: colour('line'), width: 1 },
    font: chartFont(13),
  }
  return {
    width,
    height: (heightOf(panel) + TIME_AXIS_PX) * scale + abovePx,
    padding: [abovePx, RIGHT_PX * scale, 0, 0],
    cursor: { sync: { key: frame.syncKey }, drag: { x: true, y: false }, points: { size: 7 } },
    scales: { x: { time: false }, y: { range: rangeOf(panel) } },
    legend: {
      markers: {
        width: (_plot, index) => widthOf(lineAt(index) ?? lines[0]!),
        dash: (_plot, index) => BORDERS[(lineAt(index)?.index ?? 0) % BORDERS.length] ?? 'solid',
      },
    },
    hooks: {
      drawClear: [drawBands(frame, colour, rows), drawUsual(panel, colour), drawLevels(panel, colour)],
      draw: [drawMarks(frame, colour), ...(isFirst ? [drawWords(frame, colour, rows)] : [])],
    },
    axes: [
      {
        ...axis,
        size: TIME_AXIS_PX * scale,
        space: 64 * scale,
        values: (_plot, splits) =>
          splits.map((s) => `${s > 0 ? '+' : ''}${formatNumber(s, Number.isInteger(s) ? 0 : 1)} ${say('unit.s')}`),
      },
      {
        ...axis,
        size: VALUE_AXIS_PX * scale,
        space: 34 * scale,
        label: panel.unit,
        labelSize: VALUE_LABEL_PX * scale,
        labelFont: axis.font,
        ...(panel.isCount ? { incrs: WHOLE_STEPS } : {}),
        // Its words stand at their lines.
        ...(panel.words.length > 0 ? { splits: [], values: () => [] } : {}),
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
        ...(panel.isState || panel.words.length > 0 ? { paths: steps } : {}),
        value: (_plot: uPlot, value: number | null) => inWords(panel, value),
      })),
    ],
  }
}
