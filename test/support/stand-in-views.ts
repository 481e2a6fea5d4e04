/** What the stand-in's three unwinds show, each a plain function of time. */
import type { UnwindView } from '../../edge/api/messages.ts'
import type { UnwindState } from '../../edge/columns.ts'
import { MOTION_BY_UNWIND } from './past-splices.ts'
import { standInJoint } from './stand-in-joints.ts'

const rounded = (value: number, digits = 1): number => Number(value.toFixed(digits))

export const LABEL_PERIOD_S = 240
export const LABEL_SPLICE_AT_S = 200
export const LABEL_FILL_S = 35
const LABEL_CYCLE_S = 8
const LABEL_REFILL_S = 34
const LABEL_READY_AT_S = 150
export const LABEL_PREPARATION_S = 75

/** Seconds that the line of `laminator_inner` stands, and its period. */
const LAMINATOR_STANDS_S = 45
const LAMINATOR_PERIOD_S = 300

export const isLabelRollReady = (atS: number): boolean => atS >= LABEL_READY_AT_S && atS < LABEL_SPLICE_AT_S + 4

/** Goes round: counts down, fills, splices, refills. `atS` is where in its round it is, `round` counts splices begun. */
export const labelPress = ({ tMs, atS, round }: { tMs: number; atS: number; round: number }): UnwindView => {
  const sinceS = atS - LABEL_SPLICE_AT_S
  const state: UnwindState =
    sinceS >= 0
      ? sinceS < LABEL_CYCLE_S
        ? 'splicing'
        : sinceS < LABEL_CYCLE_S + LABEL_REFILL_S
          ? 'refilling'
          : 'running'
      : sinceS >= -LABEL_FILL_S
        ? 'filling'
        : 'running'
  const leftS = sinceS < 4 ? Math.max(0, -sinceS) : LABEL_PERIOD_S - sinceS
  const speedMps = MOTION_BY_UNWIND['label_press']!.lineSpeedMps
  const fillM = leftS > LABEL_FILL_S ? 21 : (leftS / LABEL_FILL_S) * 21
  const metres = leftS * speedMps + fillM
  const stored =
    state === 'filling' ? 28.5 - fillM : state === 'splicing' ? 28.5 - 2.4 * sinceS : state === 'refilling' ? 9.3 : 7.5
  // Remaining area above the splice diameter, in mm: D² = D_s² + 4·t·R/π.
  const diameter = Math.sqrt(130 ** 2 + (4 * 0.08 * metres * 1000) / Math.PI)
  return {
    ...frame(tMs, 'label_press', 'Label press', state),
    diameter: rounded(diameter),
    caliper: 80.6,
    metres_to_splice: rounded(metres),
    metres_low: rounded(metres * 0.985 - 2),
    metres_high: rounded(metres * 1.015 + 2),
    seconds_to_splice: rounded(leftS),
    seconds_low: rounded(Math.max(0, leftS * 0.985 - 0.4)),
    seconds_high: rounded(leftS * 1.015 + 0.4),
    buffer_stored: rounded(stored, 2),
    buffer_needed: 21.2,
    buffer_margin: 6.3,
    safe_speed: 338,
    line_speed: rounded(speedMps * 60 + Math.sin(atS) * 0.3),
    new_roll_ready: isLabelRollReady(atS),
    splicer_auto: true,
    active_spindle: round % 2 === 0 ? 'A' : 'B',
    preparation_seconds: LABEL_PREPARATION_S,
    fill_lead_seconds: LABEL_FILL_S,
    splice_diameter: 130,
    core_diameter: 100,
    full_diameter: 1000,
    nominal_caliper: 80,
    buffer: { capacity: 30, running: 7.5, fill: 28.5, trip: 0.9, reserve: 1, mode: 'fill_before' },
    joints:
      sinceS > 2 && sinceS < 20
        ? [
            standInJoint(
              `label_press-${tMs - sinceS * 1000}`,
              'label_press',
              tMs - (sinceS - 2) * 1000,
              (sinceS - 2) * speedMps,
              false,
            ),
          ]
        : [],
  }
}

/** Stands first, then runs with too little buffer for its speed. */
export const laminator = ({
  tMs,
  elapsedS,
  isReady,
}: {
  tMs: number
  elapsedS: number
  isReady: boolean
}): UnwindView => {
  const inPeriodS = elapsedS % LAMINATOR_PERIOD_S
  const stands = inPeriodS < LAMINATOR_STANDS_S
  const runS =
    Math.floor(elapsedS / LAMINATOR_PERIOD_S) * (LAMINATOR_PERIOD_S - LAMINATOR_STANDS_S) +
    Math.max(0, inPeriodS - LAMINATOR_STANDS_S)
  const leftS = 2700 - (runS % 2700)
  const metres = leftS * 3
  return {
    ...frame(tMs, 'laminator_inner', 'Laminator, inner web', stands ? 'standing' : 'running'),
    diameter: rounded(Math.sqrt(118 ** 2 + (4 * 0.038 * metres * 1000) / Math.PI)),
    caliper: 38.2,
    metres_to_splice: rounded(metres),
    metres_low: rounded(metres * 0.96),
    metres_high: rounded(metres * 1.05),
    seconds_to_splice: stands ? null : rounded(leftS),
    seconds_low: stands ? null : rounded(leftS * 0.96),
    seconds_high: stands ? null : rounded(leftS * 1.05),
    buffer_stored: 22.1,
    buffer_needed: stands ? null : 22.9,
    buffer_margin: stands ? null : -1.8,
    safe_speed: stands ? null : 165,
    line_speed: stands ? 0 : 180,
    new_roll_ready: isReady,
    ready_by_hand: true,
    splicer_auto: null,
    preparation_seconds: 720,
    splice_diameter: 118,
    core_diameter: 96,
    nominal_caliper: 38,
    buffer: { capacity: 24, running: 22, fill: 24, trip: 1.5, reserve: 1, mode: 'rides_full' },
  }
}

/** Unknown: its source is lost. */
export const sackLine = ({ tMs, elapsedS }: { tMs: number; elapsedS: number }): UnwindView => {
  const lostS = rounded(elapsedS + 360, 0)
  return {
    ...frame(tMs, 'sack_line', 'Sack line', 'unknown'),
    new_roll_ready: null,
    preparation_seconds: 900,
    fill_lead_seconds: 36,
    splice_diameter: 190,
    core_diameter: 152,
    nominal_caliper: 120,
    buffer: { capacity: 20, running: 6, fill: 18, trip: 0.6, reserve: 1.5, mode: 'fill_before' },
    stale: ['line_speed', 'roll_diameter', 'buffer_position'].map((signal) => ({
      signal,
      source: 'hall_broker',
      address: `sack/${signal}`,
      seconds: lostS,
    })),
    reason:
      'hall_broker has sent nothing for more than 10 s, so line_speed, roll_diameter and buffer_position have no value.',
  }
}

/** A view in which nothing is known. */
const frame = (tMs: number, unwind: string, name: string, state: UnwindState): UnwindView => {
  return {
    time: new Date(tMs).toISOString(),
    unwind,
    name,
    state,
    diameter: null,
    caliper: null,
    metres_to_splice: null,
    metres_low: null,
    metres_high: null,
    seconds_to_splice: null,
    seconds_low: null,
    seconds_high: null,
    buffer_stored: null,
    buffer_needed: null,
    buffer_margin: null,
    safe_speed: null,
    line_speed: null,
    line_state: null,
    full_diameter: 1000,
    next_splices: [],
    left_to_core: null,
    next_flag: null,
    job_end: null,
    new_roll_ready: null,
    ready_by_hand: false,
    splicer_auto: null,
    active_spindle: null,
    preparation_seconds: 0,
    preparation: { stages: [], ready: null, left_seconds: 0, least_seconds: 0, missing: null },
    waiting_roll: null,
    fill_lead_seconds: 0,
    splice_diameter: null,
    core_diameter: 100,
    nominal_caliper: 80,
    buffer: null,
    stale: [],
    reason: null,
    reason_words: null,
    joints: [],
    alarms: [],
  }
}
