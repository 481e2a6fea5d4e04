/**
 * The conditions of the alarms on the coming splice: is everything ready, will the buffer carry it, does it begin.
 * What the splice left behind stands in `conditions-after.ts`. Pure: facts in, finding or nothing out.
 */
import type { Priority } from '../columns.ts'
import { type Figure, lengthM, speedAtMostMpm } from '../messages/render.ts'
import type { Finding, Memory } from './definition.ts'
import type { AlarmFacts } from './facts.ts'
import { advisedMpm, LEAST_ADVISED_MPS, speedToWait } from './slow-to.ts'
import { areSpeedsWrong } from './wrong-speeds.ts'

/**
 * Shares of the preparation time at which readiness rises: from trade-notes of the project, common practice, no source. The last
 * is where nothing says better how short a preparation can be.
 */
const READINESS_STAGES = [1.5, 1.0, 0.5] as const
/** A stage is left again only when the time left is so far above its limit, or noise would flip the text. */
const STAGE_HYSTERESIS = 1.1

/** The roll must be ready when the fill begins, not when the splice does. Takes the early end of the interval. */
function secondsLeft(facts: AlarmFacts): number | undefined {
  const seconds = facts.secondsLow ?? facts.secondsToSplice
  return seconds === undefined ? undefined : seconds - facts.fillLeadS
}

/** Before a splice: neither in its cycle nor without a roll. */
const isBeforeSplice = (facts: AlarmFacts): boolean => facts.state !== 'splicing' && facts.state !== 'no_roll'

/** Before one for which something has to be ready: where the job ends first nobody is asked for anything. */
const isSpliceAhead = (facts: AlarmFacts): boolean => isBeforeSplice(facts) && !facts.isLastRoll

/** 0 none, then 1, 2, 3 below the first, second and third limit, s. */
function readinessStage(leftS: number, limitsS: readonly number[], held: number): number {
  let stage = 0
  for (const [index, limitS] of limitsS.entries()) {
    if (leftS < limitS * (index < held ? STAGE_HYSTERESIS : 1)) stage = index + 1
  }
  return stage
}

/** Only stopping helps. */
const STOP_STAGE = READINESS_STAGES.length + 1

const stagePriority = (stage: number): Priority => (stage === 1 ? 'medium' : 'high')

export function rollNotReady(facts: AlarmFacts, memory: Memory): Finding | undefined {
  const leftS = secondsLeft(facts)
  // A roll that the job can't take is none, whatever the splicer calls it.
  const isMissing = facts.newRollReady === false || facts.nextRoll.isRefused
  if (!isMissing || leftS === undefined || !isSpliceAhead(facts)) return ended(memory)
  const held = memory.stage
  const { usualS, leastS } = facts.nextRoll
  const limitsS = [READINESS_STAGES[0] * usualS, READINESS_STAGES[1] * usualS, leastS]
  const stage = (memory.stage = readinessStage(leftS, limitsS, held))
  if (stage === 0) return undefined
  const finding: Finding = {
    priority: stagePriority(stage),
    value: leftS,
    limit: limitsS[stage - 1],
    text: facts.nextRoll.isRefused ? 'roll_not_ready.refused' : stage === 1 ? 'roll_not_ready' : 'roll_not_ready.due',
    parameters: NONE,
  }
  // What was asked for was in time for this roll: once that has passed it is reckoned anew.
  if (memory.slowTo !== undefined && stage < 3 && facts.tMs > memory.slowTo.readyTMs) memory.slowTo = undefined
  if (stage < 3) return finding
  // Once no speed is slow enough none is asked for again: a text that comes and goes is not read.
  const slowTo = held >= STOP_STAGE ? 'stop' : speedToWait(facts, memory.slowTo)
  if (slowTo === 'stop') {
    memory.stage = STOP_STAGE
    return { ...finding, text: 'roll_not_ready.stop' }
  }
  if (slowTo === 'unknown') return { ...finding, text: 'roll_not_ready.slow_or_stop' }
  memory.slowTo = slowTo
  return { ...finding, text: 'roll_not_ready.slow', parameters: { speed: speedAtMostMpm(slowTo.speedMpm) } }
}

/**
 * Loading takes a splicer out of automatic, so that counts only once the roll is ready or where nobody says so: else one
 * event would raise two alarms. Where the tag that says it is missing, a splicer out of automatic is most likely being
 * loaded: that counts only when it is late. A fault needs other hands and counts at once.
 */
export function splicerNotAuto(facts: AlarmFacts, memory: Memory): Finding | undefined {
  const leftS = secondsLeft(facts)
  const isFaulted = facts.spliceFault === true
  const isOut = facts.splicerAuto === false && facts.newRollReady !== false
  if (!(isFaulted || isOut) || leftS === undefined || !isSpliceAhead(facts)) return ended(memory)
  const limitsS = READINESS_STAGES.map((share) => share * facts.preparationS)
  const stage = (memory.stage = readinessStage(leftS, limitsS, memory.stage))
  if (stage === 0 || (!isFaulted && facts.isReadyUnknown && stage < limitsS.length)) return undefined
  return {
    priority: stagePriority(stage),
    value: leftS,
    limit: limitsS[stage - 1],
    text: isFaulted
      ? stage === 3
        ? 'splicer_not_auto.fault_stop'
        : 'splicer_not_auto.fault'
      : stage === 3
        ? 'splicer_not_auto.stop'
        : stage === 2
          ? 'splicer_not_auto.due'
          : 'splicer_not_auto',
    parameters: NONE,
  }
}

/** The speed may still change before that; raised earlier it would ask for nothing. Must exceed the two minutes owed. */
const SHORT_WINDOW_S = 300
/** From here on slowing down cannot wait. */
const SHORT_URGENT_S = 120

export function bufferShort(facts: AlarmFacts, memory: Memory): Finding | undefined {
  const leftS = secondsLeft(facts)
  const marginM = facts.bufferMarginM
  if (marginM === undefined || leftS === undefined || !isSpliceAhead(facts)) return undefined
  if (leftS > SHORT_WINDOW_S * (memory.isRaised ? STAGE_HYSTERESIS : 1)) return undefined
  if (marginM >= (memory.isRaised ? shortDeadbandM(facts) : 0)) return undefined
  // What is short only because it does not fill is told once, as that.
  if (facts.fillShortM !== undefined && facts.fillShortM > 0 && marginM + facts.fillShortM >= 0) return undefined
  const finding: Finding = {
    priority: leftS <= SHORT_URGENT_S ? 'high' : 'medium',
    value: marginM,
    limit: 0,
    text: 'buffer_short',
    parameters: { short: lackOf(-marginM) },
  }
  // No speed is ordered from one that is known to be wrong.
  if (facts.highestSpeedMps === undefined || areSpeedsWrong(facts)) return finding
  if (facts.highestSpeedMps < LEAST_ADVISED_MPS) return { ...finding, text: 'buffer_short.stop', parameters: NONE }
  const speed = advisedMpm(facts.highestSpeedMps, facts.lineSpeedMps)
  if (speed === undefined) return finding
  finding.text = 'buffer_short.slow'
  finding.parameters = { short: lackOf(-marginM), speed: speedAtMostMpm(speed) }
  return finding
}

/** 5 % of what the splice takes (ISA-18.2's starting value for a level, from memory), at least half a metre. */
const shortDeadbandM = (facts: AlarmFacts): number => Math.max(0.5, 0.05 * (facts.bufferNeededM ?? 0))

/** Half metres, rounded so that the text never makes the lack smaller than it is. */
const lackOf = (metres: number): Figure => lengthM(Math.max(0.5, Math.ceil(metres * 2) / 2), { round: 'up' })

/**
 * The fill should have begun and has not, or cannot be complete any more however fast it goes on. The forecast has taken off
 * what may be chance. Where the web that is stored now carries the splice, nothing has to be done before it: that the fill is
 * amiss is told in a low voice.
 */
export function bufferNotFilling(facts: AlarmFacts, memory: Memory): Finding | undefined {
  const { fillShortM: shortM, fillOverdueS, bufferMarginM: marginM } = facts
  // A splicer that can't begin does not fill either: what keeps it from that is told already.
  if (!isBeforeSplice(facts) || !canBegin(facts)) return undefined
  const isShort = shortM !== undefined && shortM > (memory.isRaised ? -shortDeadbandM(facts) / 2 : 0)
  if (!isShort && fillOverdueS === undefined) return undefined
  if (carriesAsItIs(facts)) {
    return {
      priority: 'low',
      value: Math.max(0, shortM ?? 0),
      limit: 0,
      text: 'buffer_not_filling.enough',
      parameters: NONE,
    }
  }
  const isExhausted = marginM === undefined || marginM < (memory.isRaised ? shortDeadbandM(facts) / 2 : 0)
  return {
    priority: isExhausted && isShort ? 'high' : 'medium',
    value: Math.max(0, shortM ?? 0),
    limit: 0,
    ...(isShort && shortM > 0
      ? { text: 'buffer_not_filling', parameters: { short: lackOf(shortM) } }
      : { text: 'buffer_not_filling.late', parameters: NONE }),
  }
}

function carriesAsItIs({ storedM, reserveM, bufferNeededM }: AlarmFacts): boolean {
  if (storedM === undefined || bufferNeededM === undefined) return false
  return storedM - (reserveM ?? 0) - bufferNeededM >= 0
}

export function spliceOverdue(facts: AlarmFacts): Finding | undefined {
  if (facts.overdueS === undefined || !isBeforeSplice(facts)) return undefined
  return {
    priority: 'high',
    value: facts.diameterM,
    limit: facts.spliceDiameterM,
    text: canBegin(facts) ? 'splice_overdue' : 'splice_overdue.blocked',
    parameters: NONE,
  }
}

/** With no roll ready, out of automatic or faulted the splicer can't begin, by hand or otherwise. */
const canBegin = (facts: AlarmFacts): boolean =>
  facts.newRollReady !== false && facts.splicerAuto !== false && facts.spliceFault !== true

export const NONE: Readonly<Record<string, never>> = Object.freeze({})

function ended(memory: Memory): undefined {
  memory.stage = 0
  memory.slowTo = undefined
}
