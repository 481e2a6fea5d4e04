/** Where things lie in one small chart: pure, so that a test can ask. Sizes in the chart's own units. */
import type { LogEntry, TrendChartView } from '../../edge/trend-views.ts'

export const WIDTH = 440
export const HEIGHT = 170
export const PLOT = { left: 46, right: 432, top: 18, bottom: 146 } as const
/** Splices over which the drawn line takes its middle. */
export const SMOOTHED = 15
/** Room above and below what is usual, as a share of it. */
const SPARE_SHARE = 0.15
/** Least span of the upright axis, as a share of its value: nobody acts on less, and noise stays as small as it is. */
const LEAST_SPAN = 0.1

export interface Mark {
  entry: LogEntry
  /** Letter by which the table below names it. */
  letter: string
  /** Splice before which it happened. */
  index: number
}

/** a, b, … z, aa, ab, … oldest first. @param log - any order. */
export function marksOf(log: readonly LogEntry[], times: readonly string[]): Mark[] {
  return log
    .filter(
      ({ kind, taken_back }) => (kind === 'setting' || kind === 'service' || kind === 'usual') && taken_back === null,
    )
    .toSorted((a, b) => a.time.localeCompare(b.time))
    .map((entry, i) => {
      const index = times.findIndex((time) => time >= entry.time)
      return { entry, letter: letterOf(i), index: index < 0 ? times.length : index }
    })
}

const letterOf = (i: number): string =>
  (i >= 26 ? String.fromCharCode(96 + Math.floor(i / 26)) : '') + String.fromCharCode(97 + (i % 26))

/** Letters of marks above a chart. */
export interface MarkLabel {
  x: number
  text: string
}

/** Of one character at 12 units, with the room that tells it from the next. */
const LETTER_WIDTH = 8
const LABEL_GAP = 3
const widthOf = ({ text }: MarkLabel): number => text.length * LETTER_WIDTH + LABEL_GAP

/**
 * Letters that would lie over each other become one label, from the first to the last: `c–f`. They stay within the plot.
 * @param x - of each mark, in the order of the letters.
 */
export function markLabels(
  marks: readonly Pick<Mark, 'letter' | 'index'>[],
  x: (index: number) => number,
): MarkLabel[] {
  interface Group {
    first: string
    last: string
    from: number
    to: number
  }
  const labelOf = ({ first, last, from, to }: Group): MarkLabel => {
    const label = { text: first === last ? first : `${first}–${last}`, x: (from + to) / 2 }
    const half = widthOf(label) / 2
    return {
      ...label,
      x: Math.min(PLOT.right + LETTER_WIDTH - half, Math.max(PLOT.left - LETTER_WIDTH + half, label.x)),
    }
  }
  const groups: Group[] = []
  for (const { letter, index } of marks) {
    let group: Group = { first: letter, last: letter, from: x(index), to: x(index) }
    for (;;) {
      const before = groups.at(-1)
      if (before === undefined) break
      const [a, b] = [labelOf(before), labelOf(group)]
      if (b.x - a.x >= (widthOf(a) + widthOf(b)) / 2) break
      groups.pop()
      group = { first: before.first, last: group.last, from: before.from, to: group.to }
    }
    groups.push(group)
  }
  return groups.map(labelOf)
}

export interface Geometry {
  x: (index: number) => number
  y: (value: number) => number
  /** Round values along the upright axis. */
  ticks: number[]
}

export function geometryOf(chart: TrendChartView): Geometry {
  const values = chart.points.map(({ adjusted }) => adjusted)
  // What lies far out is drawn at the edge: one odd splice must not press all others into a line.
  const line = smoothed(values)
  const bounds = chart.low === null || chart.high === null ? values : [chart.low, chart.high, ...line.slice(SMOOTHED)]
  const [low, high] = [Math.min(...bounds), Math.max(...bounds)]
  const least = LEAST_SPAN * Math.max(Math.abs(low), Math.abs(high))
  const spare = Math.max((high - low) * SPARE_SHARE, (least - (high - low)) / 2, 1e-9)
  const [from, to] = [low - spare, high + spare]
  const last = Math.max(1, chart.points.length - 1)
  return {
    // What was done since the newest splice stands at the edge.
    x: (index) => PLOT.left + (Math.min(index, last) / last) * (PLOT.right - PLOT.left),
    y: (value) => PLOT.bottom - ((Math.min(to, Math.max(from, value)) - from) / (to - from)) * (PLOT.bottom - PLOT.top),
    ticks: roundTicks(from, to),
  }
}

/** One to five round values within. */
export function roundTicks(from: number, to: number): number[] {
  const rough = (to - from) / 5
  const power = 10 ** Math.floor(Math.log10(rough))
  const step = [1, 2, 5, 10].map((one) => one * power).find((one) => one >= rough) ?? rough
  const ticks: number[] = []
  for (let tick = Math.ceil(from / step) * step; tick <= to; tick += step) ticks.push(Number(tick.toPrecision(12)))
  return ticks
}

/** Middle of the newest splices up to each one: what an eye would follow through the dots. */
export function smoothed(values: readonly number[]): number[] {
  return values.map((_, i) => {
    const near = values.slice(Math.max(0, i - SMOOTHED + 1), i + 1).toSorted((a, b) => a - b)
    return near[near.length >> 1]!
  })
}

/** All dots of one side as one path: a point is a line of no length with round ends. */
export const dotsPath = (dots: readonly { x: number; y: number }[]): string =>
  dots.map(({ x, y }) => `M${x.toFixed(1)} ${y.toFixed(1)}h0`).join('')

/** Up to so many splices there is room for marks that are seen at once. */
const FEW = 100
export const areFew = (points: readonly unknown[]): boolean => points.length <= FEW

/** Small crosses: the second side differs by shape, not by colour alone. @param size - from end to end. */
export const crossesPath = (dots: readonly { x: number; y: number }[], size: number): string =>
  dots
    .map(
      ({ x, y }) =>
        `M${(x - size / 2).toFixed(1)} ${(y - size / 2).toFixed(1)}l${size} ${size}m0 -${size}l-${size} ${size}`,
    )
    .join('')

export const linePath = (points: readonly { x: number; y: number }[]): string =>
  points.map(({ x, y }, i) => `${i === 0 ? 'M' : 'L'}${x.toFixed(1)} ${y.toFixed(1)}`).join('')
