/**
 * What the signals of one unwind say at one moment, by name. Pure; undefined is unmapped, silent or without a value.
 */
import type { BufferConfig, MaterialConfig, UnwindConfig } from '../config/config.ts'
import type { UnwindSignals } from './unwind-signals.ts'

export interface SignalsNow {
  tMs: number
  /** Of a line that is indexed the mean over its strokes: in its rests it does not stand. */
  lineMps: number | undefined
  setpointMps: number | undefined
  unwindMps: number | undefined
  readingM: number | undefined
  /** The diameter's tag says what no roll on this core can have: a sensor that sees nothing, a program without turns. */
  isReadingRefused: boolean
  /** The diameter's source was heard just now: its silence about a value says that it holds. */
  isDiameterHeard: boolean
  /** The diameter's tag states a period: a held value says nothing new. */
  isPeriodic: boolean
  storedM: number | undefined
  lineState: string | undefined
  spindle: string | undefined
  spliceActive: boolean | undefined
  spliceStep: string | undefined
  spliceFault: boolean | undefined
  webBreak: boolean | undefined
  newRollReady: boolean | undefined
  splicerAuto: boolean | undefined
  tension: number | undefined
  tensionSetpoint: number | undefined
}

/** Only right after its source was heard does a value's own silence say that it holds, ms: three reports at 10 Hz. */
const HEARD_MS = 300

/** Stored web at a carriage position by the two points of the calibration, m. */
export function storedWebM(buffer: BufferConfig | undefined, position: number): number | undefined {
  if (buffer === undefined) return undefined
  const { emptyPosition, emptyStoredM, fullPosition, fullStoredM } = buffer.calibration
  const share = (position - emptyPosition) / (fullPosition - emptyPosition)
  return emptyStoredM + share * (fullStoredM - emptyStoredM)
}

/** A roll reads smaller than its core by no more than this share and length: scale and offset of the sensor together. */
const UNDER_CORE_SHARE = 0.05
const UNDER_CORE_M = 6e-3

/** Whether a roll on this core can have the reading, m. */
export const canBeRoll = (readingM: number, coreM: number): boolean =>
  readingM >= (1 - UNDER_CORE_SHARE) * coreM - UNDER_CORE_M

export function readNow(signals: UnwindSignals, tMs: number, config: UnwindConfig, coreM: number): SignalsNow {
  const readingM = signals.number('roll_diameter', tMs)
  // The value holds where a report was none; but one that keeps saying nought is no proof that it still does.
  const refused = signals.running('roll_diameter', tMs)?.refused
  const saysNought = refused !== undefined && refused !== '' && Number.isFinite(Number(refused))
  const isReadingRefused = readingM !== undefined && (saysNought || !canBeRoll(readingM, coreM))
  const position = signals.number('buffer_position', tMs)
  const lineMps = signals.number('line_speed', tMs)
  const step = signals.text('splice_step', tMs)
  const fault = signals.boolean('splice_fault', tMs)
  return {
    tMs,
    // A line that creeps backwards while threading takes no web.
    lineMps: lineMps === undefined ? undefined : signals.strokes.levelMps(tMs, Math.max(0, lineMps)),
    setpointMps: signals.number('speed_setpoint', tMs),
    unwindMps: signals.number('unwind_speed', tMs),
    readingM: isReadingRefused ? undefined : readingM,
    isReadingRefused,
    isDiameterHeard: (signals.silentMs('roll_diameter', tMs) ?? Number.POSITIVE_INFINITY) < HEARD_MS,
    isPeriodic: signals.running('roll_diameter', tMs)?.config.periodS !== undefined,
    storedM: position === undefined ? undefined : storedWebM(config.buffer, position),
    lineState: signals.text('line_state', tMs),
    spindle: signals.text('active_spindle', tMs),
    spliceActive: signals.boolean('splice_active', tMs),
    spliceStep: step,
    spliceFault: step === 'fault' ? true : fault,
    webBreak: signals.boolean('web_break', tMs),
    newRollReady: signals.newRollReady(tMs),
    splicerAuto: signals.boolean('splicer_auto', tMs),
    tension: signals.number('tension', tMs),
    tensionSetpoint: signals.number('tension_setpoint', tMs),
  }
}

/** Facts of the running roll and its splice setting: tag first, then the material, then the config. */
export interface RollData {
  material: string
  labelM: number
  coreM: number
  spliceDiameterM: number
  /** Where the material says it. */
  widthM?: number | undefined
  /** Of the waiting roll, where its tags say so. */
  waitingDiameterM?: number | undefined
  waitingWidthM?: number | undefined
}

export function rollDataOf(
  config: UnwindConfig,
  signals: UnwindSignals,
  tMs: number,
  materials: Readonly<Record<string, MaterialConfig>>,
): RollData {
  const material = signals.text('material', tMs) ?? ''
  const known = Object.hasOwn(materials, material) ? materials[material] : undefined
  const waiting = signals.text('waiting_material', tMs) ?? ''
  const coreM = known?.coreDiameterM ?? config.roll.coreDiameterM
  return {
    material,
    labelM: positive(signals.number('nominal_caliper', tMs)) ?? known?.caliperM ?? config.roll.nominalCaliperM,
    coreM,
    // Without any setting the roll is counted down to its core.
    spliceDiameterM: positive(signals.number('splice_diameter', tMs)) ?? config.splicer.spliceDiameterM ?? coreM,
    widthM: signals.entered.running?.widthM ?? known?.widthM,
    waitingDiameterM: positive(signals.number('waiting_diameter', tMs)),
    waitingWidthM:
      signals.entered.waiting?.widthM ?? (Object.hasOwn(materials, waiting) ? materials[waiting]?.widthM : undefined),
  }
}

/** A PLC that has no figure says zero. */
const positive = (value: number | undefined): number | undefined =>
  value !== undefined && value > 0 ? value : undefined
