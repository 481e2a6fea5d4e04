/** The three invented lines: what their webs, drives, splicers, sensors and crews really are. The data sheets in config/demo.yaml differ a little. */
import type { DriveMakeup } from './drive.ts'
import type { FestoonMakeup } from './festoon.ts'
import type { FlyingMakeup } from './paster.ts'
import type { ScriptMakeup } from './script.ts'
import type { DiameterMakeup } from './sensors.ts'
import type { ZeroSpeedMakeup } from './splicer.ts'

export interface WebMakeup {
  material: string
  /** What the label says, m. */
  labelCaliperM: number
  /** True caliper over label, mean of many rolls. */
  caliperScale: number
  /** Spread from roll to roll (standard deviation) and drift through a roll (at most), shares. */
  rollSpread: number
  rollDrift: number
  /** Outside of the core, m. */
  coreDiameterM: number
  outOfRoundM: number
}

export interface LineRecipe {
  id: string
  /** Stands before every roll number. */
  rollPrefix: string
  web: WebMakeup
  speedMps: number
  threadMps: number
  drive: DriveMakeup
  splicer: ZeroSpeedMakeup | FlyingMakeup
  festoon: FestoonMakeup | undefined
  diameter: DiameterMakeup
  /** Web from the festoon's exit, or the paster, to the end of the process, m. */
  pathM: number
  /** This far above the core the line stops for the end of the roll, m of diameter. */
  endOfRollM: number
  /** A late roll is armed so far below the splice diameter, m. */
  lateByM: number
  tensionN: number
  /** From the start of the plant to the first cycle, s. */
  firstSpliceS: number
  script: ScriptMakeup
}

/** Label paper on a fast press: zero-speed splicer, festoon that rides low and is filled before the splice. */
const LABEL_PRESS: LineRecipe = {
  id: 'label_press',
  rollPrefix: 'LP',
  web: {
    material: 'LP80',
    labelCaliperM: 80e-6,
    caliperScale: 1.03,
    rollSpread: 0.008,
    rollDrift: 0.012,
    coreDiameterM: 0.1,
    outOfRoundM: 0.0005,
  },
  speedMps: 240 / 60,
  threadMps: 20 / 60,
  drive: { rampUpMps2: 0.5, rampDownMps2: 0.6, fastStopMps2: 3.5 },
  splicer: {
    method: 'zero_speed',
    spliceDiameterM: 0.13,
    stopS: 1.1,
    decelerationMps2: 2.5,
    accelerationMps2: 1.2,
    overspeed: 0.2,
  },
  festoon: { strands: 12, travelM: 2, mode: 'fill_before', runningShare: 0.3, fillShare: 0.92, tripShare: 0.08 },
  diameter: {
    kind: 'distance',
    noiseM: 0.0006,
    resolutionM: 0.0001,
    scale: 1.002,
    offsetM: { A: 0.0006, B: -0.0003 },
  },
  pathM: 58,
  endOfRollM: 0.004,
  lateByM: 0.008,
  tensionN: 180,
  firstSpliceS: 40,
  script: {
    firstTrouble: 'web_break',
    troubles: ['not_ready', 'slow_cycle', 'late', 'web_break', 'aborted', 'not_auto', 'sluggish'],
    readyAfterS: [30, 42],
    rollS: [150, 172],
  },
}

/** Board at low speed, festoon always nearly full, a PLC program that speaks feet and inches and computes its diameter. */
const CARTON_LINE: LineRecipe = {
  id: 'carton_line',
  rollPrefix: 'CB',
  web: {
    material: 'CB350',
    labelCaliperM: 350e-6,
    caliperScale: 0.975,
    rollSpread: 0.01,
    rollDrift: 0.01,
    coreDiameterM: 0.172,
    outOfRoundM: 0.0008,
  },
  speedMps: 2,
  threadMps: 0.25,
  drive: { rampUpMps2: 0.35, rampDownMps2: 0.4, fastStopMps2: 2 },
  splicer: {
    method: 'zero_speed',
    spliceDiameterM: 0.221,
    stopS: 1.5,
    decelerationMps2: 1.1,
    accelerationMps2: 0.65,
    overspeed: 0.16,
  },
  festoon: { strands: 8, travelM: 1.75, mode: 'rides_full', runningShare: 0.86, fillShare: 0.86, tripShare: 0.08 },
  diameter: {
    kind: 'computed',
    noiseM: 0.0004,
    resolutionM: 0.000254,
    scale: 0.998,
    offsetM: { A: 0, B: 0 },
  },
  pathM: 38,
  endOfRollM: 0.008,
  lateByM: 0.008,
  tensionN: 420,
  firstSpliceS: 62,
  script: {
    firstTrouble: 'slow_cycle',
    troubles: ['not_ready', 'web_break', 'late', 'aborted', 'slow_cycle', 'not_auto', 'sluggish'],
    readyAfterS: [30, 42],
    rollS: [150, 172],
  },
}

/** Thin film at high speed with a flying paster and no store. */
const FILM_COATER: LineRecipe = {
  id: 'film_coater',
  rollPrefix: 'PF',
  web: {
    material: 'PF25',
    labelCaliperM: 25e-6,
    caliperScale: 1.02,
    rollSpread: 0.006,
    rollDrift: 0.008,
    coreDiameterM: 0.096,
    outOfRoundM: 0.0002,
  },
  speedMps: 7,
  threadMps: 0.5,
  drive: { rampUpMps2: 0.6, rampDownMps2: 0.7, fastStopMps2: 2.5 },
  splicer: { method: 'flying', spliceDiameterM: 0.128, pasteS: 1.2, spinMps2: 1.5 },
  festoon: undefined,
  diameter: {
    kind: 'distance',
    noiseM: 0.0003,
    resolutionM: 0.0001,
    scale: 0.999,
    offsetM: { A: 0.0002, B: 0.0002 },
  },
  pathM: 85,
  endOfRollM: 0.003,
  lateByM: 0.007,
  tensionN: 95,
  firstSpliceS: 80,
  script: {
    firstTrouble: 'not_ready',
    troubles: ['web_break', 'late', 'aborted', 'not_ready', 'not_auto'],
    readyAfterS: [30, 42],
    rollS: [150, 172],
  },
}

export const RECIPES: readonly LineRecipe[] = [LABEL_PRESS, CARTON_LINE, FILM_COATER]
