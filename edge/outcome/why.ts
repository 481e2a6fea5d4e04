/**
 * Why a splice went as it did: what departs from the last good ones of the same splicer, side and speed class, and the
 * order in which things happened. Only evidence that was measured; as keys of texts with parameters. Pure.
 */
import type { SpliceView } from '../api/messages.ts'
import type { Phase } from '../columns.ts'
import { median, scatter } from '../estimators/statistics.ts'
import type { Figure, FigureQuantity, Words } from '../messages/render.ts'
import { sideOf } from '../splice-details.ts'
import { verdictOf } from '../splice-review.ts'

/** Splices that are compared with: enough for a spread, few enough to speak of the machine as it is now. */
export const MOST_COMPARED = 20
/** With fewer good ones a spread means nothing. */
export const LEAST_COMPARED = 5
/** One speed class: within this share of the splice's speed. */
const SAME_SPEED_SHARE = 0.1
/** From here on it is no longer the usual scatter: 3 spreads, 0.3 % of normal values. */
const DEPARTS_AT = 3
/** Beyond this a number of spreads says no more than "far". */
const MOST_SPREADS = 99
/** Farther below its setting than this the diameter has passed it, mm (recording contract). */
const PAST_MM = 3

type Unit = 's' | 'm' | 'mm' | 'N' | '%'

interface Measure {
  name: string
  phase: Phase | null
  unit: Unit
  /** Which way it hurts. */
  bad: 'high' | 'low' | 'both'
  /** The spread is never taken as less: what tags and steps resolve, in the unit. */
  leastSpread: number
  of: (splice: SpliceView) => number | null
  /** Of a failed splice it is what failing did, and no reason for it. */
  isConsequence?: true
}

const phaseS =
  (phase: Phase) =>
  ({ phases }: SpliceView): number | null =>
    phases.find((span) => span.phase === phase)?.seconds ?? null

const MEASURES: readonly Measure[] = [
  { name: 'start', phase: 'fill', unit: 'm', bad: 'low', leastSpread: 0.2, of: (s) => s.details.buffer_at_start },
  { name: 'decelerate', phase: 'decelerate', unit: 's', bad: 'high', leastSpread: 0.1, of: phaseS('decelerate') },
  { name: 'stopped', phase: 'stopped', unit: 's', bad: 'high', leastSpread: 0.05, of: (s) => s.stopped_seconds },
  {
    name: 'accelerate',
    phase: 'accelerate',
    unit: 's',
    bad: 'high',
    leastSpread: 0.1,
    of: phaseS('accelerate'),
    isConsequence: true,
  },
  {
    name: 'web',
    phase: null,
    unit: 'm',
    bad: 'high',
    leastSpread: 0.2,
    of: (s) => s.web_from_buffer,
    isConsequence: true,
  },
  { name: 'low', phase: null, unit: 'm', bad: 'low', leastSpread: 0.2, of: (s) => s.buffer_low, isConsequence: true },
  {
    name: 'refill',
    phase: 'refill',
    unit: 's',
    bad: 'high',
    leastSpread: 1,
    of: phaseS('refill'),
    isConsequence: true,
  },
  { name: 'trigger', phase: null, unit: 'mm', bad: 'both', leastSpread: 0.3, of: (s) => s.details.trigger_offset },
  {
    name: 'speed_kept',
    phase: null,
    unit: '%',
    bad: 'low',
    leastSpread: 1,
    of: (s) => (s.details.speed_kept === null ? null : 100 * s.details.speed_kept),
    isConsequence: true,
  },
  {
    name: 'tension_low',
    phase: null,
    unit: 'N',
    bad: 'low',
    leastSpread: 3,
    of: (s) => s.details.tension_low,
    isConsequence: true,
  },
  { name: 'tension_high', phase: null, unit: 'N', bad: 'high', leastSpread: 3, of: (s) => s.details.tension_high },
  {
    name: 'tension_back',
    phase: null,
    unit: 's',
    bad: 'high',
    leastSpread: 0.3,
    of: (s) => s.details.tension_back_seconds,
    isConsequence: true,
  },
  {
    name: 'guide_left',
    phase: null,
    unit: '%',
    bad: 'low',
    leastSpread: 2,
    of: (s) => (s.details.guide_left_share === null ? null : 100 * s.details.guide_left_share),
    isConsequence: true,
  },
]

export interface Departure {
  measure: string
  /** The phase that it belongs to; null where it speaks of the whole cycle. */
  phase: Phase | null
  unit: Unit
  value: number
  /** Median of the good ones. */
  usual: number
  /** Their robust standard deviation. */
  spread: number
  /** How many spreads off, above or below. */
  spreads: number
}

/** The last good ones of the same unwind, side that made the joint and speed class, newest first. @param before - newest first. */
export function comparable(splice: SpliceView, before: readonly SpliceView[]): SpliceView[] {
  const { speed } = splice
  const side = sideOf(splice)
  // A side that is not known is compared with both.
  const isSameSide = (other: string | null): boolean => side === null || other === null || other === side
  return before
    .filter(
      (other) =>
        other.id !== splice.id &&
        other.unwind === splice.unwind &&
        other.started < splice.started &&
        verdictOf(other).outcome === 'good' &&
        isSameSide(sideOf(other)) &&
        (speed === null || other.speed === null || Math.abs(other.speed - speed) <= SAME_SPEED_SHARE * speed),
    )
    .slice(0, MOST_COMPARED)
}

/** What departs: phases in the order in which they come, then what speaks of the whole cycle, farthest first. */
export function departures(splice: SpliceView, good: readonly SpliceView[]): Departure[] {
  const found: Departure[] = []
  for (const { name: measure, phase, unit, bad, leastSpread, of, isConsequence } of MEASURES) {
    if (isConsequence === true && splice.outcome === 'failed') continue
    const value = of(splice)
    const values = good.map(of).filter((other) => other !== null)
    const usual = median(values)
    if (value === null || usual === undefined || values.length < LEAST_COMPARED) continue
    const spread = Math.max(leastSpread, scatter(values) ?? 0)
    const off = (value - usual) / spread
    const hurts = bad === 'both' ? Math.abs(off) : bad === 'high' ? off : -off
    if (hurts < DEPARTS_AT) continue
    found.push({ measure, phase, unit, value, usual, spread, spreads: Math.min(MOST_SPREADS, Math.abs(off)) })
  }
  // The measures stand in the order of the cycle: what departed first is the nearest to a reason.
  const whole = found.filter(({ phase }) => phase === null).sort((a, b) => b.spreads - a.spreads)
  return [...found.filter(({ phase }) => phase !== null), ...whole]
}

const QUANTITIES: Partial<Record<Unit, FigureQuantity>> = { m: 'length', mm: 'diameter', N: 'force' }

function figureOf(value: number, decimals: number, unit?: Unit): Figure {
  const quantity = unit && QUANTITIES[unit]
  return { value, decimals, ...(quantity !== undefined && { quantity }) }
}

/** Two figures that differ are shown so that they differ. */
export function figures(value: number, usual: number, unit?: Unit): { value: Figure; usual: Figure } {
  const decimals = value.toFixed(1) === usual.toFixed(1) || Math.abs(value - usual) < 0.15 ? 2 : 1
  return { value: figureOf(value, decimals, unit), usual: figureOf(usual, decimals, unit) }
}

/** In words: three tell it. */
export function departureFindings(found: readonly Departure[]): Words[] {
  return found.slice(0, 3).map(({ measure, unit, value, usual, spreads }) => ({
    key: `why.departs.${measure}${measure === 'trigger' && value < usual ? '_below' : ''}`,
    parameters: {
      ...figures(value, usual, unit),
      spreads: spreads < MOST_SPREADS ? Math.round(spreads) : { key: 'why.over', parameters: { count: MOST_SPREADS } },
    },
  }))
}

const msOf = (time: string | null): number | undefined => (time === null ? undefined : Date.parse(time))
const secondsBetween = (fromMs: number, toMs: number): Figure => figureOf(Math.abs(toMs - fromMs) / 1000, 1)

/** What happened in which order, told once each. */
export function courseFindings(splice: SpliceView): Words[] {
  const { details, outcome, cause } = splice
  const startedMs = Date.parse(splice.started)
  const findings: Words[] = []
  const say = (key: string, parameters: Words['parameters'] = {}) => findings.push({ key: `why.${key}`, parameters })
  const endedMs = msOf(details.buffer_ended)
  const movedMs = msOf(splice.phases.find(({ phase }) => phase === 'accelerate')?.started ?? null)
  const partedMs = msOf(details.web_parted)
  const transferMs = msOf(splice.transfer)
  const faultedMs = msOf(details.faulted)
  if (endedMs !== undefined) {
    if (movedMs === undefined) say('end_unmoved', { seconds: secondsBetween(startedMs, endedMs) })
    else if (endedMs < movedMs) say('end_before_moved', { seconds: secondsBetween(endedMs, movedMs) })
    else say('end_after_moved', { seconds: secondsBetween(movedMs, endedMs) })
    if (details.margin_forecast !== null) {
      const margin = details.margin_forecast
      say(margin >= 0 ? 'forecast_spare' : 'forecast_short', { metres: figureOf(Math.abs(margin), 1, 'm') })
    }
  }
  if (faultedMs !== undefined) say('faulted', { seconds: secondsBetween(startedMs, faultedMs) })
  if (partedMs !== undefined) {
    if (transferMs === undefined || partedMs < transferMs) {
      say('parted_before', { seconds: secondsBetween(startedMs, partedMs) })
    } else say('parted_after', { seconds: secondsBetween(transferMs, partedMs) })
  } else if (outcome === 'failed' && endedMs === undefined && details.line_fell !== null) {
    say('line_fell', { seconds: secondsBetween(startedMs, Date.parse(details.line_fell)) })
  }
  if (outcome === 'aborted') say('reset')
  if (outcome === 'missed') {
    say(cause === 'no_new_roll' ? 'not_ready' : 'not_begun')
    const below = details.trigger_offset === null ? 0 : -details.trigger_offset
    if (below >= PAST_MM) say('below_setting', { millimetres: figureOf(below, 0, 'mm') })
  }
  return findings
}
