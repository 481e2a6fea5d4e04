/** Which time a report is of: what the address says, else the last 24 hours up to the hour. Pure. */

export interface Span {
  fromTMs: number
  toTMs: number
}

const HOUR_MS = 3_600_000
/** Names of the ready-made spans, with their hours. */
export const PRESETS = { shift: 8, day: 24, week: 7 * 24 } as const
export type Preset = keyof typeof PRESETS

/** Up to the end of the present hour: the address of a report then stays the same for a while. */
export const spanOf = (preset: Preset, nowTMs: number): Span => {
  const toTMs = Math.ceil(nowTMs / HOUR_MS) * HOUR_MS
  return { fromTMs: toTMs - PRESETS[preset] * HOUR_MS, toTMs }
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

/** `2 h 5 min`, `45 s`: how long something was lost, in two parts at most. */
export const lengthParts = (seconds: number): { hours: number; minutes: number; seconds: number } => {
  const whole = Math.round(seconds)
  return { hours: Math.floor(whole / 3600), minutes: Math.floor((whole % 3600) / 60), seconds: whole % 60 }
}
