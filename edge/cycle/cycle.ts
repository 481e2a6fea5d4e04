/**
 * One splice cycle as plain data: what happened and when. The machines in this folder write it, `outcome/` judges it.
 *
 * Times ms since 1970 UTC, lengths m, speeds m/s; null is "not (yet) known" or "did not happen".
 */
export interface Cycle {
  /** The unwind began to slow (flying: paste; stopped: the line began to slow). Fixed when the cycle is first recognised. */
  startedTMs: number
  /** A splicer's signal or a transfer proves that this was a splice attempt. Without it the unwind may just have run out. */
  isProven: boolean
  /** The old roll was at its core when the unwind stopped. */
  isAtCore: boolean
  fillStartedTMs: number | null
  /** Line web from the fill's start to the cycle's, m; and how fast the fill was, as a share of the line speed. */
  fillLeadM?: number
  fillRateShare?: number
  /** The line stands for the joint by design: that it fell is no sign of failure until it is back. */
  isLineStopped?: boolean
  /** Nothing was seen for a while between start and return: how long the unwind stood and what it took is not known. */
  hasGap?: boolean
  /** At `startedTMs`. */
  lineMps: number
  storedM: number | null
  /** Web off the roll then, m; unknown of a cycle that never began. */
  rollWebM?: number
  /** By the filter, in the sensor's own scale, with its standard deviation (absent in records of older versions). */
  diameterM: number | null
  diameterSdM?: number
  settingM: number
  /** A diameter is set. Who triggers by length, by the web's end or by hand may have none: `settingM` is the core then. */
  isSet: boolean
  newRollReady: boolean | null
  /** Surface speed below 1 m/min from and to. */
  stopStartTMs: number | null
  stopEndTMs: number | null
  /** The unwind is back at line speed. */
  backTMs: number | null
  transferTMs: number | null
  /** Line web taken when the transfer happened, m. */
  transferWebM: number | null
  storedAtTransferM: number | null
  /** Web from the diameter at the transfer to the core's outside. */
  leftOnRollM: number | null
  /** Its standard deviation, m. */
  leftOnRollSdM?: number
  /** The buffer is back at its running position. */
  recoveredTMs: number | null
  /** From the shape of the whole cycle, once it is complete. */
  stoppedS: number | null
  /** Where the ramps' corners may be round: as short as this the stop may have been, s. */
  leastStoppedS?: number
  /** The same without the feet of rounded ramps, on which the unwind creeps below 1 m/min, s. */
  plainStoppedS?: number
  webFromBufferM: number | null
  lowStoredM: number | null
  minLineMps: number
  /** The cycle reset: no transfer, the old roll ran on. */
  resetTMs: number | null
  /** What went wrong, first time each. */
  faultTMs: number | null
  breakTMs: number | null
  bufferEndTMs: number | null
  lineFellTMs: number | null
}

/** What a machine sees at one step. Undefined is unknown or not mapped. */
export interface CycleInput {
  tMs: number
  lineMps: number
  isStanding: boolean
  /** Web taken by the line, m. */
  webM: number
  /** True, false, or undefined where neither `splice_active` nor `splice_step` is mapped or has a value. */
  active: boolean | undefined
  spindle: string | undefined
  /** The reading stands clearly above what the old roll can be: since when, and by how many readings. */
  /** From `fromTMs` on nothing was seen: it may have jumped then. */
  jump: { sinceTMs: number; fromTMs: number; count: number } | undefined
  /** The reading has a value and follows the old roll. */
  followsOldRoll: boolean
  hasReading: boolean
  diameterM: number | undefined
  /** Standard deviation of `diameterM`, m. */
  diameterSdM: number
  /** The running roll's diameter when the line had taken so much web, m: `diameterM` is up to a second old. */
  diameterAtM: (webM: number) => number | undefined
  settingM: number
  isSet: boolean
  /** Where the splice is expected: the setting, or what was learned where none is set, m. */
  expectedM: number
  /** How far below that it is past it, m. */
  overdueM: number
  coreM: number
  newRollReady: boolean | undefined
  /** What one cycle takes at this speed, m. */
  needM: number | undefined
  runningStoredM: number | undefined
  /** How fast the unwind outruns the line while refilling, as a share. */
  overspeed: number
  /** Time between two readings of the diameter, ms: what came with one happened up to so long before. */
  readingPeriodMs: number
  /** The web due until the trigger, m, with its standard deviation. */
  dueM: number | undefined
  dueSdM: number
}

export function newCycle(input: CycleInput, startedTMs: number, at: Partial<Cycle>): Cycle {
  return {
    startedTMs,
    isProven: false,
    isAtCore: false,
    fillStartedTMs: null,
    lineMps: input.lineMps,
    storedM: null,
    diameterM: input.diameterM ?? null,
    diameterSdM: input.diameterSdM,
    settingM: input.settingM,
    isSet: input.isSet,
    newRollReady: input.newRollReady ?? null,
    stopStartTMs: null,
    stopEndTMs: null,
    backTMs: null,
    transferTMs: null,
    transferWebM: null,
    storedAtTransferM: null,
    leftOnRollM: null,
    recoveredTMs: null,
    stoppedS: null,
    webFromBufferM: null,
    lowStoredM: null,
    minLineMps: input.lineMps,
    resetTMs: null,
    faultTMs: null,
    breakTMs: null,
    bufferEndTMs: null,
    lineFellTMs: null,
    ...at,
  }
}

/** What every kind of splicer's machine offers to the pipeline. Each is plain steps; `snapshot` is plain data. */
export interface CycleMachine {
  step(input: CycleInput): CycleChange
  /** The cycle that runs now. */
  readonly current: Cycle | undefined
  /** The unwind slows, stands or comes back for a splice. */
  readonly isSplicing: boolean
  snapshot(): unknown
  restore(state: unknown): void
}

export interface CycleChange {
  /** A cycle was recognised at this step. */
  started?: Cycle
  /** The new web took over. */
  transferred?: Cycle
  /** The cycle is complete, reset or broken off; it is only watched from here on. */
  ended?: Cycle
  /** The unwind stopped at its core without a cycle. */
  ranOut?: Cycle
}
