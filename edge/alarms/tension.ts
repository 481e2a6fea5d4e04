/** The alarm on a web that goes slack while the line runs: the carriage lost its pressure, a brake its grip. Pure. */
import type { AlarmDefinition, Condition } from './definition.ts'
import type { AlarmFacts } from './facts.ts'

/** Below this share of its setpoint a web is going slack; above the second it holds again. Common practice, no source. */
const SLACK_SHARE = 0.6
const HOLDS_SHARE = 0.75
/** A web that has hardly any at once is broken, which is told as that. */
const BROKEN_SHARE = 0.1

/** Through a splice tension dips and peaks by itself, and the splice's own record tells of it. */
const isBetweenSplices = ({ state }: AlarmFacts): boolean => state === 'running' || state === 'filling'

export const tensionLow: Condition<AlarmFacts> = (facts, memory) => {
  const { tension } = facts
  if (tension === undefined || facts.webBreak === true || !isBetweenSplices(facts)) return undefined
  const share = tension.value / tension.setpoint
  if (share < BROKEN_SHARE && !memory.isRaised) return undefined
  const limit = memory.isRaised ? HOLDS_SHARE : SLACK_SHARE
  if (!(share < limit)) return undefined
  return {
    priority: 'high',
    value: Math.max(0, share),
    limit,
    text: 'tension_low',
    parameters: { percent: Math.round(Math.max(0, share) * 100) },
  }
}

export const TENSION_ALARM: AlarmDefinition<AlarmFacts> = {
  id: 'tension_low',
  condition: tensionLow,
  onlyProducing: true,
  measure: 'none',
  onDelayS: 3,
  offDelayS: 5,
  deadband: '15 % of the setpoint: raised below 60 %, ends above 75 %',
  texts: { tension_low: ['percent'] },
  rationale: {
    cause: "The festoon's carriage lost its pressure, the brake or drive of the unwind its torque, or the web slips.",
    consequence: 'The web goes slack, wraps or breaks; the festoon stores nothing for the next splice.',
    response: "Look at the carriage's pressure and at the unwind's brake; slow down or stop before the web wraps.",
    timeToRespond: 'seconds to a minute',
    basis: 'Tension falls first, the position wanders only once the web is slack: common practice, no source.',
  },
}
