/** Time of day in the site's zone, and lengths of time as a person reads them. Times are ms since 1970 UTC, lengths s. */
import { currentDisplay } from './display.ts'
import { say, spokenLanguage } from './messages.ts'

const formats = new Map<string, Intl.DateTimeFormat>()

const format = (
  zone: string,
  kind: string,
  options: Intl.DateTimeFormatOptions,
  locale = spokenLanguage(),
): Intl.DateTimeFormat => {
  const key = `${zone} ${kind}`
  let found = formats.get(key)
  if (found === undefined) {
    found = new Intl.DateTimeFormat(locale, { timeZone: zone, hourCycle: 'h23', ...options })
    formats.set(key, found)
  }
  return found
}

const HM = { hour: '2-digit', minute: '2-digit' } as const
const HMS = { ...HM, second: '2-digit' } as const

const HALF_DAY = { hourCycle: 'h12', hour: 'numeric' } as const
const clock = (tMs: number, zone: string, kind: 'hm' | 'hms', options: Intl.DateTimeFormatOptions): string =>
  currentDisplay().clock === '12'
    ? format(zone, `${kind} 12`, { ...options, ...HALF_DAY }).format(tMs)
    : format(zone, kind, options).format(tMs)

/** `14:37`, or `2:37 PM` where this browser shows twice twelve hours. */
export const clockMinutes = (tMs: number, zone: string): string => clock(tMs, zone, 'hm', HM)
/** `14:37:05` */
export const clockSeconds = (tMs: number, zone: string): string => clock(tMs, zone, 'hms', HMS)
const zoneIn = (locale: string, tMs: number, zone: string): string =>
  format(zone, `zone ${locale}`, { timeZoneName: 'short' }, locale)
    .formatToParts(tMs)
    .find((part) => part.type === 'timeZoneName')?.value ?? zone

/** `CET`, `MEZ`, `CST`: each country has names for its own zones only, and says `GMT+1` of the rest. */
export const zoneName = (tMs: number, zone: string): string => {
  const names = [spokenLanguage(), 'en-GB', 'en-US', 'en-AU'].map((locale) => zoneIn(locale, tMs, zone))
  return names.find((name) => !/^(GMT|UTC)[+−-]/.test(name)) ?? names[0] ?? zone
}
/** `14:32:05 CET` */
export const clockWithZone = (tMs: number, zone: string): string => `${clockSeconds(tMs, zone)} ${zoneName(tMs, zone)}`

/** `14:32 CET` */
export const minutesWithZone = (tMs: number, zone: string): string =>
  `${clockMinutes(tMs, zone)} ${zoneName(tMs, zone)}`

const dateParts = (tMs: number, zone: string): Record<string, string> =>
  Object.fromEntries(
    format(zone, 'date', { year: 'numeric', month: '2-digit', day: '2-digit', ...HMS })
      .formatToParts(tMs)
      .map((part) => [part.type, part.value]),
  )

const localTime = (tMs: number, zone: string): string => {
  const { year, month, day, hour, minute, second } = dateParts(tMs, zone)
  return `${year}-${month}-${day} ${hour}:${minute}:${second}`
}

/** `2026-03-02 14:37:05`: sorts as it reads, and no country reads it otherwise. */
export const dateAndTime = (tMs: number, zone: string): string =>
  `${localTime(tMs, zone).slice(0, 10)} ${clockSeconds(tMs, zone)}`

/** `2026-03-02 14:37` */
export const dateAndMinutes = (tMs: number, zone: string): string =>
  `${localTime(tMs, zone).slice(0, 10)} ${clockMinutes(tMs, zone)}`

/** `03-02 14:37`, for an axis or a column that has no room for the year. */
export const dayAndMinutes = (tMs: number, zone: string): string => dateAndMinutes(tMs, zone).slice(5)

/** Below this the minutes of both ends may read the same. */
const NEEDS_SECONDS_MS = 10 * 60_000
/** Both ends of an axis, `03-02 14:37`, with seconds where minutes would not tell them apart; one only for one time. */
export const spanLabels = (fromTMs: number, toTMs: number, zone: string): [string, string] => {
  if (!Number.isFinite(fromTMs) || !Number.isFinite(toTMs)) return ['', '']
  const label = (tMs: number) =>
    toTMs - fromTMs < NEEDS_SECONDS_MS ? dateAndTime(tMs, zone).slice(5) : dayAndMinutes(tMs, zone)
  const [from, to] = [label(fromTMs), label(toTMs)]
  return from === to ? [from, ''] : [from, to]
}

/** `2026-03-02 14:37 CET` */
export const dateMinutesZone = (tMs: number, zone: string): string =>
  `${dateAndMinutes(tMs, zone)} ${zoneName(tMs, zone)}`

const HALF_YEAR_MS = 182 * 86_400_000
/** `CET/CEST`: the names that the zone has within a year, where a time of any day may be meant. */
export const zoneOfYear = (tMs: number, zone: string): string =>
  [...new Set([zoneName(tMs, zone), zoneName(tMs + HALF_YEAR_MS, zone)])].join('/')

/**
 * How a list names the zone of its times: in its head; where a clock change lies among them each row has its own, for the
 * hour that comes twice would else be read as one.
 */
export const zoneOfList = (times: readonly number[], zone: string): { head: string; time: (tMs: number) => string } => {
  const names = [...new Set(times.map((tMs) => zoneName(tMs, zone)))]
  return {
    head: names.reverse().join('/'),
    time: (tMs) => `${dateAndTime(tMs, zone)}${names.length > 1 ? ` ${zoneName(tMs, zone)}` : ''}`,
  }
}

/** What a `datetime-local` field holds, `2026-03-02T14:37`, in the site's zone. */
export const toLocalField = (tMs: number, zone: string): string => localTime(tMs, zone).slice(0, 16).replace(' ', 'T')

/** The field's text read in the site's zone; undefined where it is no time. */
export const fromLocalField = (text: string, zone: string): number | undefined => {
  if (!/^\d{4}-\d\d-\d\dT\d\d:\d\d$/.test(text)) return undefined
  const guess = Date.parse(`${text}:00Z`)
  if (Number.isNaN(guess)) return undefined
  // The zone's offset at the guess, then once more at the corrected time: right on both sides of a clock change.
  const offset = (tMs: number) => Date.parse(`${localTime(tMs, zone).replace(' ', 'T')}Z`) - tMs
  return guess - offset(guess - offset(guess))
}

/** A half-width of an interval: seconds, from two minutes on minutes. */
export const formatSpread = (seconds: number): string =>
  seconds < 120
    ? say('time.seconds', { seconds: Math.max(1, Math.round(seconds)) })
    : say('time.minutes', { minutes: Math.round(seconds / 60) })

/**
 * Time left in the steps that people can use: above 10 min whole minutes, 10 to 2 min tens of seconds, below seconds.
 * Rounded down: what is shown is there.
 */
export const stepSeconds = (seconds: number): number => (seconds >= 600 ? 60 : seconds >= 120 ? 10 : 1)
export const toStep = (seconds: number): number => {
  const step = stepSeconds(seconds)
  return Math.max(0, Math.floor(seconds / step) * step)
}

/** Time left as figures and their unit: `42` min, `2:10` min, `45` s. */
export const formatTimeLeft = (seconds: number): { figures: string; unit: string } => {
  if (seconds < 60) return { figures: String(Math.floor(seconds)), unit: say('time.s') }
  const minutes = Math.floor(seconds / 60)
  const rest = String(Math.floor(seconds % 60)).padStart(2, '0')
  return { figures: seconds >= 600 ? String(minutes) : `${minutes}:${rest}`, unit: say('time.min') }
}

/** An age in the unit that people would say: `8 s`, `4 min`, `3 h`, `2 d`. */
export const ageInWords = (seconds: number): string => {
  if (seconds < 120) return say('time.seconds', { seconds: Math.floor(seconds) })
  if (seconds < 7200) return say('time.minutes', { minutes: Math.floor(seconds / 60) })
  if (seconds < 172_800) return say('time.hours', { hours: Math.floor(seconds / 3600) })
  return say('time.days', { days: Math.floor(seconds / 86_400) })
}
