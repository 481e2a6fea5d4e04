/** A zero-speed cycle whose carriage is too noisy to tell when the unwind stood, on a machine that counts its spindle's turns. */
import { expect, it } from 'vitest'
import type { Cycle, CycleInput } from '../../edge/cycle/cycle.ts'
import { Motion } from '../../edge/cycle/motion.ts'
import { ZeroSpeedMachine } from '../../edge/cycle/zero-speed.ts'

const LINE_MPS = 2
const RAMP_MPS2 = 1
const START_S = 10
const STOP_S = 1.5
const STOPS_AT_S = START_S + LINE_MPS / RAMP_MPS2
const RUNS_AT_S = STOPS_AT_S + STOP_S
/** Of the carriage, m: no beat that a longer span would cancel. */
const NOISE_M = 0.4

const unwindMps = (tS: number): number => {
  if (tS < START_S) return LINE_MPS
  if (tS < STOPS_AT_S) return LINE_MPS - RAMP_MPS2 * (tS - START_S)
  // Up to the overspeed that brings the carriage back.
  return Math.min(1.2 * LINE_MPS, Math.max(0, RAMP_MPS2 * (tS - RUNS_AT_S)))
}

/** What the machine is told besides the motion: a splice by its own signal, another spindle in mid-stop. */
const inputAt = (tS: number): CycleInput => ({
  tMs: Math.round(tS * 1000),
  lineMps: LINE_MPS,
  isStanding: false,
  webM: LINE_MPS * tS,
  active: tS >= START_S && tS < RUNS_AT_S + LINE_MPS / RAMP_MPS2,
  spindle: tS < STOPS_AT_S + STOP_S / 2 ? 'A' : 'B',
  jump: undefined,
  followsOldRoll: false,
  hasReading: true,
  diameterM: 0.2,
  diameterSdM: 0.0005,
  diameterAtM: () => 0.2,
  settingM: 0.2,
  isSet: true,
  expectedM: 0.2,
  overdueM: 3e-3,
  coreM: 0.1,
  newRollReady: true,
  needM: LINE_MPS * STOP_S + LINE_MPS ** 2 / RAMP_MPS2,
  runningStoredM: 12,
  overspeed: 0.2,
  dueM: 0,
  readingPeriodMs: 100,
  dueSdM: 1,
})

function stopOf(hasSpindle: boolean): number | null | undefined {
  const motion = new Motion()
  const machine = new ZeroSpeedMachine(motion, () => false, { downMps2: RAMP_MPS2, upMps2: RAMP_MPS2 })
  let storedM = 12
  let ended: Cycle | undefined
  for (let n = 1; n <= 300; n += 1) {
    const tS = n / 10
    storedM += (unwindMps(tS) - LINE_MPS) * 0.1
    motion.noteLine(LINE_MPS)
    motion.report(n * 100, LINE_MPS, undefined, storedM + NOISE_M * Math.sin(n * n))
    if (hasSpindle) motion.noteSpindle(n * 100, unwindMps(tS))
    ended ??= machine.step(inputAt(tS)).ended
  }
  return ended?.stoppedS
}

it('takes the length of the stop from the spindle', () => {
  // Two sample periods: what one report each 100 ms can tell.
  expect(Math.abs((stopOf(true) ?? 0) - STOP_S)).toBeLessThan(0.2)
  // The carriage alone can't: a test that passed without the spindle would prove nothing.
  expect(Math.abs((stopOf(false) ?? 0) - STOP_S)).toBeGreaterThan(0.2)
})

it('ends the start where the ramp peaked, though the peak was just below the line’s speed', () => {
  // Up to 97 % of the line's speed, down to 93 % for two seconds since the buffer holds more than it needs, then up again.
  const rampS = (0.97 * LINE_MPS) / RAMP_MPS2
  const surfaceMps = (tS: number): number => {
    const sinceS = tS - RUNS_AT_S
    if (sinceS < rampS) return unwindMps(tS)
    if (sinceS < rampS + 2) return LINE_MPS * Math.max(0.94, 0.97 - 0.1 * (sinceS - rampS))
    return LINE_MPS
  }
  const motion = new Motion()
  const machine = new ZeroSpeedMachine(motion, () => true, { downMps2: RAMP_MPS2, upMps2: RAMP_MPS2 })
  let storedM = 12
  let ended: Cycle | undefined
  for (let n = 1; n <= 300; n += 1) {
    const tS = n / 10
    storedM += (surfaceMps(tS) - LINE_MPS) * 0.1
    motion.noteLine(LINE_MPS)
    motion.report(n * 100, LINE_MPS, surfaceMps(tS), storedM)
    ended ??= machine.step(inputAt(tS)).ended
  }
  const startS = ((ended?.backTMs ?? 0) - (ended?.stopEndTMs ?? 0)) / 1000
  expect(Math.abs(startS - rampS)).toBeLessThan(0.2)
})
