/**
 * Assessments as the contract's columns and as a screen needs them: SI units end here. Pure.
 */

import { isToldSpeedsWrong } from './alarms/wrong-speeds.ts'
import type { AlarmView, UnwindView } from './api/messages.ts'
import type { ForecastRow } from './columns.ts'
import type { UnwindConfig } from './config/config.ts'
import type { Assessment } from './estimators/assessment.ts'
import { preparationTime } from './estimators/learning/preparation.ts'
import type { JointView } from './joint-columns.ts'
import type { Words } from './messages/render.ts'
import { isoTime } from './outcome/record.ts'
import { type EntriesInput, preparationView, waitingRollView } from './pipeline-entries.ts'
import type { Outlook } from './pipeline-outlook.ts'
import { LINE_STATES } from './signals/catalogue.ts'
import type { RollData, SignalsNow } from './signals/now.ts'
import type { LostSignal } from './signals/unwind-signals.ts'

const METRES = 1
const MM_PER_M = 1000
const UM_PER_M = 1e6
const MPMIN_PER_MPS = 60
const REQUIRED: ReadonlySet<string> = new Set(['line_speed', 'roll_diameter'])
const FULL_CORES = 4
/** Of a value that can't be one, characters. */
const MOST_SHOWN = 40

const scaled = (value: number | undefined, factor: number): number | null =>
  value === undefined || !Number.isFinite(value) ? null : value * factor

export function forecastRow(unwind: string, tMs: number, assessment: Assessment | undefined): ForecastRow {
  const forecast = assessment?.forecast
  const isKnown = assessment !== undefined && assessment.state !== 'unknown'
  return {
    time: isoTime(tMs),
    unwind,
    state: assessment?.state ?? 'unknown',
    diameter: isKnown ? scaled(assessment.diameterM, MM_PER_M) : null,
    caliper: isKnown ? scaled(assessment.caliperM, UM_PER_M) : null,
    metres_to_splice: scaled(forecast?.metres, METRES),
    metres_low: scaled(forecast?.metresLow, METRES),
    metres_high: scaled(forecast?.metresHigh, METRES),
    seconds_to_splice: scaled(forecast?.seconds, 1),
    seconds_low: scaled(forecast?.secondsLow, 1),
    seconds_high: scaled(forecast?.secondsHigh, 1),
    buffer_stored: scaled(assessment?.storedM, METRES),
    buffer_needed: scaled(forecast?.bufferNeededM, METRES),
    buffer_margin: scaled(forecast?.bufferMarginM, METRES),
    safe_speed: scaled(forecast?.highestSpeedMps, MPMIN_PER_MPS),
  }
}

export interface ViewInput extends Outlook {
  forecast: ForecastRow
  config: UnwindConfig
  now: SignalsNow | undefined
  assessment: Assessment | undefined
  rollData: RollData
  entries: EntriesInput
  lost: readonly LostSignal[]
  alarms: AlarmView[]
  fault: { reason: string; tMs: number } | undefined
  joints: JointView[]
}

/** A roll that is nearly at its end when the first look falls on it is not drawn as a full one. */
const leastFullM = ({ assessment, rollData }: ViewInput): number =>
  Math.max(assessment?.diameterM ?? 0, FULL_CORES * rollData.coreM)

export function unwindView(input: ViewInput): UnwindView {
  const { config, now, assessment, rollData } = input
  const { buffer } = config
  const reason = reasonOf(input)
  return {
    ...input.forecast,
    // What is reckoned from a speed that is wrong as a whole must not become an order.
    ...(isToldSpeedsWrong(input.alarms) ? { safe_speed: null } : {}),
    name: config.name,
    line_speed: scaled(now?.lineMps, MPMIN_PER_MPS),
    line_state: lineStateOf(now),
    new_roll_ready: now?.newRollReady ?? null,
    ready_by_hand: !input.entries.signals.has('new_roll_ready'),
    splicer_auto: now?.splicerAuto ?? null,
    active_spindle: now?.spindle ?? null,
    preparation_seconds: Math.round(
      preparationTime(config.splicer, input.entries.learned.preparation, input.entries.tMs).mean,
    ),
    preparation: preparationView(input.entries),
    waiting_roll: waitingRollView(input.entries),
    fill_lead_seconds: assessment?.forecast?.fillLeadS ?? 0,
    splice_diameter: scaled(rollData.spliceDiameterM, MM_PER_M),
    core_diameter: rollData.coreM * MM_PER_M,
    full_diameter: Math.round(Math.max(input.fullM ?? 0, leastFullM(input)) * MM_PER_M),
    nominal_caliper: rollData.labelM * UM_PER_M,
    buffer:
      buffer === undefined
        ? null
        : {
            capacity: buffer.calibration.fullStoredM,
            running: buffer.runningStoredM,
            fill: buffer.fillStoredM,
            trip: buffer.tripStoredM,
            reserve: buffer.reserveM,
            mode: buffer.mode,
          },
    next_splices: input.nextSplices,
    left_to_core: input.leftToCore,
    next_flag: input.nextFlag,
    job_end: input.jobEnd,
    stale: input.lost.map(({ signal, source, address, seconds }) => ({ signal, source, address, seconds })),
    reason: reason === null ? null : input.entries.messages(reason.key, reason.parameters),
    reason_words: reason,
    joints: input.joints,
    alarms: input.alarms,
  }
}

/** What the value map makes of the tag: checked when the config is read, so anything else is no state. */
const lineStateOf = (now: SignalsNow | undefined): UnwindView['line_state'] =>
  LINE_STATES.find((state) => state === now?.lineState) ?? null

/** Why the state is unknown, one sentence. */
function reasonOf({ forecast, fault, lost, now }: ViewInput): Words | null {
  if (forecast.state !== 'unknown') return null
  // Where the spindle is not known, neither is the roll that runs.
  const silent =
    lost.find(({ signal }) => REQUIRED.has(signal)) ?? lost.find(({ signal }) => signal === 'active_spindle')
  if (now !== undefined && silent !== undefined) return silentReason(silent)
  if (fault === undefined) return { key: 'reason.waiting' }
  return { key: 'reason.fault', parameters: { reason: fault.reason } }
}

function silentReason({ signal, source, address, refused }: LostSignal): Words {
  const tag = { signal, address, source }
  if (refused === undefined) return { key: 'reason.no_value', parameters: tag }
  const said = refused.length > MOST_SHOWN ? `${refused.slice(0, MOST_SHOWN)}…` : refused
  return { key: 'reason.refused', parameters: { ...tag, said } }
}
