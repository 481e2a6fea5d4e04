/** A trace's columns put into panels of one unit each, on one time axis: seconds from the transfer, else from the start. Pure. */
import type { TraceView, WhyView } from '../../edge/api/messages.ts'
import { say, sayName } from '../messages.ts'
import { type Quantity, toShown, unitOf } from '../units.ts'
import { type Beside, besideValues } from './trace-beside.ts'

export interface Panel {
  key: string
  title: string
  unit: string
  /** Its axis spans no less than this: a steady signal is a line and no mountain range. */
  leastSpan: number
  /** A yes-or-no signal: drawn low, in steps. */
  isState: boolean
  /** It counts: nothing lies between two whole numbers. */
  isCount: boolean
  /** What a further tag can say, from below: its values are places in here. Empty where they are numbers. */
  words: string[]
  /** Thin lines across the panel, each with its name. */
  levels: { value: number; label: string }[]
  series: PanelSeries[]
}

export interface PanelSeries {
  label: string
  values: (number | null)[]
  band?: UsualBand
  /** The same signal of the splice that lies beside this one. */
  beside?: (number | null)[]
}

/** How the last good splices went, on a time axis of its own: seconds from this splice's transfer, else its start. */
export interface UsualBand {
  seconds: number[]
  low: (number | null)[]
  median: (number | null)[]
  high: (number | null)[]
}

export interface PhaseBand {
  label: string
  fromS: number
  toS: number
}

const GROUPS = [
  { key: 'diameter', title: 'trace.diameter', isIn: (signal: string) => /diameter/.test(signal) },
  {
    key: 'speeds',
    title: 'trace.speeds',
    isIn: (signal: string) => /^(line_speed|unwind_speed|speed_setpoint)$/.test(signal),
  },
  { key: 'festoon', title: 'trace.festoon', isIn: (signal: string) => /^buffer_/.test(signal) },
] as const

/** What a chart is for comes first: running roll before splice setting, line before unwind. */
const FIRST = ['roll_diameter', 'diameter', 'line_speed', 'unwind_speed', 'buffer_stored', 'buffer_position']
const rank = (signal: string): number => {
  const index = FIRST.indexOf(signal)
  return index < 0 ? FIRST.length : index
}

/** Units of the contract that this browser may show otherwise, and the least span of an axis in them. */
const QUANTITIES: Readonly<Record<string, { quantity: Quantity; leastSpan: number }>> = {
  m: { quantity: 'length', leastSpan: 2 },
  mm: { quantity: 'diameter', leastSpan: 4 },
  µm: { quantity: 'thickness', leastSpan: 4 },
  'm/min': { quantity: 'speed', leastSpan: 40 },
  N: { quantity: 'force', leastSpan: 40 },
}

type Values = (number | null)[]

const shownIn = (unit: string): ((values: Values) => Values) => {
  const known = QUANTITIES[unit]
  return known === undefined
    ? (values) => values
    : (values) => values.map((value) => (value === null ? null : toShown(value, known.quantity)))
}

const inUnit = ({ seconds, low, median, high }: UsualBand, shown: (values: Values) => Values): UsualBand => ({
  seconds,
  low: shown(low),
  median: shown(median),
  high: shown(high),
})

const newPanel = (key: string, title: string, unit: string, isState: boolean): Panel => {
  const known = QUANTITIES[unit]
  return {
    key,
    title,
    unit: known === undefined ? unit : unitOf(known.quantity),
    leastSpan: known === undefined ? 0 : toShown(known.leastSpan, known.quantity),
    isState,
    isCount: !isState && unit === '',
    words: [],
    levels: [],
    series: [],
  }
}

/** A site's further tags are called as the site calls them. */
const nameOf = (signal: string): string => sayName('signal', signal.replace(/^extra\./, ''))

const upperFirst = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1)

/** A setting that no tag carries stands in the config: it is drawn all the same. @param settingMm - null where there is none. */
const withSetting = ({ columns, time }: TraceView, settingMm: number | null): TraceView['columns'] =>
  settingMm === null || columns.some(({ signal }) => signal === 'splice_diameter')
    ? columns
    : [...columns, { signal: 'splice_diameter', unit: 'mm', is_state: false, values: time.map(() => settingMm) }]

export const toPanels = (
  trace: TraceView,
  band: WhyView['band'] = null,
  settingMm: number | null = null,
  beside?: Beside,
): Panel[] => {
  const panels = new Map<string, Panel>()
  const bands = toUsualBands(trace, band)
  const columns = withSetting(trace, settingMm).toSorted((a, b) => rank(a.signal) - rank(b.signal))
  for (const column of columns) {
    const { signal, unit, is_state, values } = column
    // A column that never had a value draws an empty panel: left out.
    if (!values.some((value) => value !== null)) continue
    const group = GROUPS.find(({ isIn }) => isIn(signal))
    // Two units never share an axis: carriage in % and stored web in m stand in panels of their own.
    const key = `${group?.key ?? signal.replace(/_setpoint$/, '')} ${unit}`
    const title = group === undefined ? upperFirst(nameOf(signal.replace(/_setpoint$/, ''))) : say(group.title)
    const panel = panels.get(key) ?? newPanel(key, title, unit, is_state)
    panel.words = wordsOf(column)
    const shown = panel.words.length > 0 ? placesIn(column, panel.words) : shownIn(unit)
    panel.levels.push(...panel.words.map((label, value) => ({ value, label })))
    panel.levels.push(
      ...shown(column.ends ?? []).map((value) => ({ value: value!, label: say('trace.end_of_travel') })),
    )
    const usual = bands.get(signal)
    const other = beside && besideValues(trace, beside, signal, unit)
    panel.series.push({
      label: nameOf(signal),
      values: shown(values),
      ...(usual && { band: inUnit(usual, shown) }),
      ...(other && { beside: shown(other) }),
    })
    panel.isCount &&= values.every((value) => value === null || Number.isInteger(value))
    panels.set(key, panel)
  }
  const place = (panel: Panel): number => {
    const index = GROUPS.findIndex(({ key }) => panel.key.startsWith(`${key} `))
    // Quantities first, then what says words, then what is only on or off.
    return index < 0 ? GROUPS.length + Number(panel.words.length > 0) + 2 * Number(panel.isState) : index
  }
  return [...panels.values()].sort((a, b) => place(a) - place(b))
}

/** All that a mapped tag can say; what its map has no word for any more stands as the number that it was. */
const wordsOf = ({ meanings, values }: TraceView['columns'][number]): string[] => {
  if (meanings === undefined) return []
  const known = new Set(meanings.map(({ value }) => value))
  const others = new Set(values.filter((value) => value !== null && !known.has(value)))
  return [...meanings.map(({ text }) => text), ...[...others].map(String)]
}

const placesIn =
  ({ meanings }: TraceView['columns'][number], words: readonly string[]): ((values: Values) => Values) =>
  (values) =>
    values.map((value) => {
      const place = words.indexOf(meanings?.find((one) => one.value === value)?.text ?? String(value))
      return value === null || place < 0 ? null : place
    })

type Timed = Pick<TraceView, 'started' | 'transfer'>

/** The time of day at second 0, ms: the transfer, which every chart of a splice is read from; without one its start. */
export const zeroTMs = ({ started, transfer }: Timed): number => Date.parse(transfer ?? started)

export const secondsAt = (trace: Timed, time: string | number): number =>
  ((typeof time === 'number' ? time : Date.parse(time)) - zeroTMs(trace)) / 1000

/** By signal. */
const toUsualBands = (trace: TraceView, band: WhyView['band']): Map<string, UsualBand> => {
  const seconds = band?.time.map((tMs) => secondsAt(trace, tMs)) ?? []
  return new Map(band?.columns.map(({ signal, low, median, high }) => [signal, { seconds, low, median, high }]))
}

export const relativeSeconds = (trace: Timed & Pick<TraceView, 'time'>): number[] =>
  trace.time.map((tMs) => secondsAt(trace, tMs))

/** Phases as stretches of the axis; one that still lasts goes to the end of the trace. */
export const toBands = (trace: TraceView): PhaseBand[] => {
  const endS = secondsAt(trace, trace.time.at(-1) ?? trace.started)
  return trace.phases.map(({ phase, started, seconds }) => {
    const fromS = secondsAt(trace, started)
    return { label: say(`phase.${phase}`), fromS, toS: seconds === null ? endS : fromS + seconds }
  })
}
