/** Which time a report is of: what the address says, else the last 24 hours. Pure. */
import { shiftStartTMs } from '../../edge/shift.ts'

export interface Span {
  fromTMs: number
  toTMs: number
}

const HOUR_MS = 3_600_000
/** One shift a day, and the longest day of the year. */
const LONGEST_MS = 25 * HOUR_MS
/** Names of the ready-made spans, with their hours. */
export const PRESETS = { shift: 8, day: 24, week: 7 * 24 } as const
export type Preset = keyof typeof PRESETS

/** Up to now: to the end of the hour it would begin that much too late. */
export const spanOf = (preset: Preset, nowTMs: number): Span => ({
  fromTMs: nowTMs - PRESETS[preset] * HOUR_MS,
  toTMs: nowTMs,
})

/** Whether a ready-made span is the one that is shown: of its length, and not yet an hour behind it. */
export const isChosen = (preset: Span, shown: Span): boolean =>
  preset.toTMs - preset.fromTMs === shown.toTMs - shown.fromTMs && Math.abs(preset.toTMs - shown.toTMs) < HOUR_MS

/** The shift that runs and the one before, from beginning to end; undefined where the site has none. */
export const shiftsAt = (
  nowTMs: number,
  shifts: readonly string[],
  zone: string,
): { present: Span; last: Span } | undefined => {
  if (shifts.length === 0) return undefined
  const fromTMs = shiftStartTMs(nowTMs, shifts, zone)
  // A shift ends where another one begins; across a change of the clocks it is an hour longer or shorter.
  let [before, after] = [fromTMs, fromTMs + LONGEST_MS]
  while (after - before > 1) {
    const middle = Math.floor((before + after) / 2)
    if (shiftStartTMs(middle, shifts, zone) === fromTMs) before = middle
    else after = middle
  }
  return {
    present: { fromTMs, toTMs: after },
    last: { fromTMs: shiftStartTMs(fromTMs - 1, shifts, zone), toTMs: fromTMs },
  }
}

/** Ready-made spans, in the order of their buttons: the site's shifts where it has some. */
export const presetsAt = (
  nowTMs: number,
  shifts: readonly string[],
  zone: string,
): { name: Preset | 'present_shift' | 'last_shift'; span: Span }[] => {
  const here = shiftsAt(nowTMs, shifts, zone)
  const long = (['day', 'week'] as const).map((name) => ({ name, span: spanOf(name, nowTMs) }))
  if (here === undefined) return [{ name: 'shift', span: spanOf('shift', nowTMs) }, ...long]
  return [{ name: 'present_shift', span: here.present }, { name: 'last_shift', span: here.last }, ...long]
}

/** Undefined where the address names none, or one that is no time. */
export const spanIn = (query: string): Span | undefined => {
  const params = new URLSearchParams(query)
  const [fromTMs, toTMs] = [Date.parse(params.get('from') ?? ''), Date.parse(params.get('to') ?? '')]
  return Number.isNaN(fromTMs) || Number.isNaN(toTMs) ? undefined : { fromTMs, toTMs }
}

export const spanQuery = ({ fromTMs, toTMs }: Span, unwind: string): string => {
  const params = new URLSearchParams({ from: new Date(fromTMs).toISOString(), to: new Date(toTMs).toISOString() })
  if (unwind !== '') params.set('unwind', unwind)
  return params.toString()
}

/** `2 h 5 min`, `1 min 39 s`, `45 s`: how long something was lost, in two parts at most. */
export const lengthParts = (seconds: number): { hours: number; minutes: number; seconds: number } => {
  const whole = Math.round(seconds)
  return { hours: Math.floor(whole / 3600), minutes: Math.floor((whole % 3600) / 60), seconds: whole % 60 }
}
