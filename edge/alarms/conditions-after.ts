/**
 * The conditions of the alarms on what has happened (splice missed or failed, web broken, buffer not back) and on what
 * the forecast rests on (diameter, caliper, sources). Pure: facts in, finding or nothing out.
 */
import type { Outcome } from '../columns.ts'
import { bare, diameterMm, lengthM, type Words } from '../messages/render.ts'
import { SIGNALS } from '../signals/catalogue.ts'
import { NONE } from './conditions.ts'
import type { Condition, Finding, Memory } from './definition.ts'
import type { AlarmFacts } from './facts.ts'
import { areSpeedsWrong, SPEEDS_WRONG_TEXT } from './wrong-speeds.ts'

/** An event after which the line never stopped is over after a minute of running: as long as a joint may open afterwards. */
const RUNS_ON_S = 60
/** A verdict older than this when first seen (after a restart) is history, not news. */
const NEWS_S = 600

/**
 * Holds from an event until the line produces again. The first look at the event remembers it; when it is over it is
 * handled, and holds no more however long the facts go on to name it.
 */
function holdsUntilProducing(id: string, facts: AlarmFacts, memory: Memory): boolean {
  if (memory.handledId === id) return false
  if (memory.eventId !== id) {
    memory.eventId = id
    memory.eventTMs = facts.tMs
    memory.hasStopped = false
  }
  if (!facts.isProducing) memory.hasStopped = true
  else if (memory.hasStopped || facts.tMs - memory.eventTMs > RUNS_ON_S * 1000) {
    memory.handledId = id
    memory.eventId = undefined
    return false
  }
  return true
}

function spliceEnded(outcome: Outcome, text: string): Condition<AlarmFacts> {
  return (facts, memory) => {
    const splice = facts.lastSplice
    if (splice === undefined || splice.outcome !== outcome) {
      memory.eventId = undefined
      return undefined
    }
    if (memory.eventId !== splice.id && facts.tMs - splice.endedTMs > NEWS_S * 1000) memory.handledId = splice.id
    if (!holdsUntilProducing(splice.id, facts, memory)) return undefined
    return {
      priority: 'high',
      value: undefined,
      limit: undefined,
      text,
      parameters: { cause: { key: `cause.${splice.cause ?? 'unknown'}` } },
    }
  }
}

export const spliceMissed = spliceEnded('missed', 'splice_missed')
export const spliceFailed = spliceEnded('failed', 'splice_failed')

/** A break within so long of a splice's bad verdict is that splice's (the contract's window), and raises nothing of its own. */
const SAME_EVENT_S = 60

/**
 * A break by itself. What breaks in a splice's cycle or because of it is told by `splice_failed` or `splice_missed`, once.
 * The bit may be a pulse or latched: the break holds until the line produces again, whatever the bit says then.
 */
export function webBreak(facts: AlarmFacts, memory: Memory): Finding | undefined {
  if (facts.webBreak !== true && memory.eventId === undefined) {
    memory.handledId = undefined
    return undefined
  }
  // A bit that still stands after its break was handled is no new break.
  if (memory.handledId !== undefined) return undefined
  const id = memory.eventId ?? `break-${facts.tMs}`
  if (isOfSplice(facts)) {
    memory.handledId = id
    memory.eventId = undefined
    return undefined
  }
  if (!holdsUntilProducing(id, facts, memory)) return undefined
  // In a cycle the splice's own verdict comes first.
  if (facts.state === 'splicing' || facts.state === 'refilling') return undefined
  return { priority: 'high', value: undefined, limit: undefined, text: 'web_break', parameters: NONE }
}

function isOfSplice(facts: AlarmFacts): boolean {
  const splice = facts.lastSplice
  if (splice === undefined || splice.outcome === 'good' || splice.outcome === 'aborted') return false
  return Math.abs(facts.tMs - splice.endedTMs) <= SAME_EVENT_S * 1000
}

/** Shares of the time that a refill should take: from trade-notes of the project, common practice, no source. */
const REFILL_LATE = 1.5
const REFILL_VERY_LATE = 2.5

export function bufferNotRecovering(facts: AlarmFacts): Finding | undefined {
  const refill = facts.refill
  if (refill === undefined || refill.elapsedS <= REFILL_LATE * refill.expectedS) return undefined
  return {
    priority: refill.elapsedS > REFILL_VERY_LATE * refill.expectedS ? 'high' : 'medium',
    value: refill.elapsedS,
    limit: REFILL_LATE * refill.expectedS,
    text: 'buffer_not_recovering',
    parameters: NONE,
  }
}

/** A preset diameter converges over turns and a turret blinds the sensor for 10 to 30 s: both must be over, or a minute. */
const WAIT_TURNS = 3
const WAIT_S = 30
const WAIT_AT_MOST_S = 60

function hasSettled(facts: AlarmFacts): boolean {
  const since = facts.sinceRollChange
  if (since === undefined) return true
  return since.seconds >= WAIT_AT_MOST_S || (since.seconds >= WAIT_S && since.turns >= WAIT_TURNS)
}

export function diameterImplausible(facts: AlarmFacts): Finding | undefined {
  const fault = facts.diameterFault
  if (!hasSettled(facts)) return undefined
  // What jumps, sticks or is impossible in a wrong unit has one cause, and another remedy than the sensor.
  if (facts.spindleUnit !== undefined) {
    return {
      priority: 'medium',
      value: fault?.valueM,
      limit: fault?.limitM,
      text: 'diameter_implausible.spindle_unit',
      parameters: facts.spindleUnit,
    }
  }
  if (fault === undefined) return undefined
  return {
    priority: 'medium',
    value: fault.valueM,
    limit: fault.limitM,
    text: DIAMETER_TEXTS[fault.kind],
    parameters: NONE,
  }
}

const DIAMETER_TEXTS = {
  stuck: 'diameter_implausible.stuck',
  jump: 'diameter_implausible.jump',
  rising: 'diameter_implausible.rising',
  out_of_range: 'diameter_implausible.out_of_range',
  no_value: 'diameter_implausible.no_value',
} as const satisfies Record<NonNullable<AlarmFacts['diameterFault']>['kind'], string>

export function diameterNotReset(facts: AlarmFacts): Finding | undefined {
  if (facts.notResetS === undefined || facts.notResetS < WAIT_S || !hasSettled(facts)) return undefined
  return {
    priority: 'medium',
    value: facts.diameterM,
    limit: facts.spliceDiameterM,
    text: 'diameter_not_reset',
    parameters: NONE,
  }
}

/** A signal by its name in the reader's language; one of the site's own by the site's name. */
const signalWords = (signal: string): Words | string =>
  Object.hasOwn(SIGNALS, signal) ? { key: `signal.${signal}` } : signal.replaceAll('_', ' ')

type Lost = AlarmFacts['lost'][number]

/**
 * Without the required ones there is no forecast. `new_roll_ready` alone leaves the forecast whole, but somebody has to go and
 * see; one that never had a value, and other signals of the splicer, are for whoever maps tags.
 */
const LOST_RANKS: readonly { priority: Finding['priority']; text: string; isMeant: (lost: Lost) => boolean }[] = [
  { priority: 'high', text: 'source_lost', isMeant: ({ signal }) => REQUIRED.has(signal) },
  {
    priority: 'medium',
    text: 'source_lost.ready',
    isMeant: ({ signal, hasSpoken }) => signal === 'new_roll_ready' && hasSpoken,
  },
  { priority: 'low', text: 'source_lost.missing', isMeant: () => true },
]
const REQUIRED: ReadonlySet<string> = new Set(['line_speed', 'roll_diameter', 'buffer_position'])

export function sourceLost(facts: AlarmFacts): Finding | undefined {
  for (const { priority, text, isMeant } of LOST_RANKS) {
    const worst = facts.lost.find(isMeant)
    if (worst === undefined) continue
    const { signal, source, address, seconds } = worst
    const where = { source, address }
    const parameters = text === 'source_lost.ready' ? where : { signal: signalWords(signal), ...where }
    return { priority, value: seconds, limit: undefined, text, parameters }
  }
  return undefined
}

/** Labels are off by a few per cent every day; only beyond this and beyond chance is it another material. */
const OFF_LABEL = 0.06
const OFF_LABEL_ENDS = 0.05
const SIGNIFICANT_SD = 2.5
/** A caliper that is known no better than this says nothing of its label yet. */
const KNOWN_SHARE = 0.02

/** Once a roll: the operator looks at the label once, and what the label says does not change with the length run. */
export function caliperOffLabel(facts: AlarmFacts, memory: Memory): Finding | undefined {
  const rollId = rollOf(facts, memory)
  const caliper = facts.caliper
  if (caliper === undefined || memory.handledId === rollId) return undefined
  const differenceM = caliper.valueM - caliper.labelM
  const share = Math.abs(differenceM) / caliper.labelM
  if (memory.isRaised && share < OFF_LABEL_ENDS) {
    memory.handledId = rollId
    return undefined
  }
  if (!memory.isRaised && caliper.sdM > KNOWN_SHARE * caliper.labelM) return undefined
  if (!memory.isRaised && !(share > OFF_LABEL && Math.abs(differenceM) > SIGNIFICANT_SD * caliper.sdM)) return undefined
  return {
    priority: 'low',
    value: caliper.valueM,
    limit: caliper.labelM * (differenceM > 0 ? 1 + OFF_LABEL : 1 - OFF_LABEL),
    text: 'caliper_off_label',
    parameters: {
      percent: Math.round(share * 100),
      direction: { key: differenceM > 0 ? 'direction.thicker' : 'direction.thinner' },
    },
  }
}

/** Tags of a sound line differ by less (trade notes). */
const DISAGREES_FROM = 0.01
const DISAGREES_ENDS = 0.008

/** The self-check looks at steady web only; what it says is not news in the middle of a cycle. */
export function speedsDisagree(facts: AlarmFacts, memory: Memory): Finding | undefined {
  const off = facts.disagreement
  if (off === undefined || Math.abs(off.share) <= (memory.isRaised ? DISAGREES_ENDS : DISAGREES_FROM)) return undefined
  // A tag that is wrong as a whole makes a cycle or a refill out of a running line, which then never ends.
  const isWhole = areSpeedsWrong(facts)
  if (!memory.isRaised && !isWhole && (facts.state === 'splicing' || facts.state === 'refilling')) return undefined
  return {
    // Countdown and orders hang on it.
    priority: isWhole ? 'medium' : 'low',
    value: undefined,
    limit: undefined,
    text: isWhole ? SPEEDS_WRONG_TEXT : 'speeds_disagree',
    parameters: {
      signal: signalWords(off.signal),
      factor: bare(1 + off.share, 3),
      percent: Math.round(1000 * Math.abs(off.share)) / 10,
      direction: { key: off.share > 0 ? 'direction.more' : 'direction.less' },
    },
  }
}

/** A name for the roll: when it came. Two reckonings of one roll change may differ by seconds. */
function rollOf(facts: AlarmFacts, memory: Memory): string {
  if (facts.sinceRollChange !== undefined) {
    const changedTMs = facts.tMs - facts.sinceRollChange.seconds * 1000
    if (memory.eventId === undefined || Math.abs(changedTMs - memory.eventTMs) > 5000) {
      memory.eventId = `roll-${Math.round(changedTMs)}`
    }
    memory.eventTMs = changedTMs
  }
  return memory.eventId ?? 'roll'
}

/** An amplitude must be clear of what an unknown wave shows by chance. */
const WAVE_SIGNIFICANT_SD = 2.5
const WAVE_ENDS_SHARE = 0.8

/** Once a roll, like the caliper: what it is does not change, only how fast the line turns it. */
export function rollOutOfRound(facts: AlarmFacts, memory: Memory): Finding | undefined {
  const rollId = rollOf(facts, memory)
  const wave = facts.outOfRound
  if (wave === undefined || memory.handledId === rollId || !hasSettled(facts)) return undefined
  if (memory.isRaised && wave.amplitudeM < WAVE_ENDS_SHARE * wave.limitM) {
    memory.handledId = rollId
    return undefined
  }
  const isOver = wave.amplitudeM > wave.limitM && wave.amplitudeM > WAVE_SIGNIFICANT_SD * wave.sdM
  if (!memory.isRaised && !isOver) return undefined
  return {
    priority: 'medium',
    value: wave.amplitudeM,
    limit: wave.limitM,
    text: 'roll_out_of_round',
    parameters: { amplitude: diameterMm(Math.round(wave.amplitudeM * 1e4) / 10) },
  }
}

const WASTE_ENDS_SHARE = 0.8

/** For maintenance's list: nothing that an operator could do now. */
export function settingWastesWeb(facts: AlarmFacts, memory: Memory): Finding | undefined {
  const { waste } = facts
  // In between (cycle, stop) nothing is reckoned: that is no reason to clear.
  if (waste === undefined) return memory.isRaised ? wastes(memory.stage, undefined) : undefined
  if (!waste.isLearned) return undefined
  if (waste.avoidableM <= (memory.isRaised ? WASTE_ENDS_SHARE : 1) * waste.limitM) return undefined
  memory.stage = waste.avoidableM
  return wastes(waste.avoidableM, waste.limitM)
}

const wastes = (avoidableM: number, limitM: number | undefined): Finding => ({
  priority: 'low',
  value: avoidableM,
  limit: limitM,
  text: 'setting_wastes_web',
  parameters: { metres: lengthM(Math.round(avoidableM)) },
})

/** For maintenance's list. It ends when the trend does: by itself, by a service, or by a person's word that this is usual now. */
export function cycleSlowing({ trend }: AlarmFacts): Finding | undefined {
  if (trend === undefined) return undefined
  const { metric, side, share, splices } = trend
  return {
    priority: 'low',
    value: undefined,
    limit: undefined,
    text: side === undefined ? 'cycle_slowing' : 'cycle_slowing.side',
    parameters: {
      metric: { key: `trend.${metric}` },
      percent: Math.round(share * 100),
      splices,
      ...(side !== undefined && { side }),
    },
  }
}

export function pipelineFault(facts: AlarmFacts): Finding | undefined {
  if (facts.pipelineFault === undefined) return undefined
  return {
    priority: 'high',
    value: undefined,
    limit: undefined,
    text: 'pipeline_fault',
    parameters: { reason: facts.pipelineFault },
  }
}

/** It was refused while it waited, and runs: for as long as it does, or until the job is one that takes it. */
export function wrongRollSpliced({ wrongRoll }: AlarmFacts): Finding | undefined {
  if (wrongRoll === undefined) return undefined
  return {
    priority: 'high',
    value: undefined,
    limit: undefined,
    text: 'wrong_roll_spliced',
    parameters: { fault: wrongRoll },
  }
}
