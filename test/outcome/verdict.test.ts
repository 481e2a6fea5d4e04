/** Slow cycle or empty buffer, where the end of the stop is not seen before the buffer's (rules: recording contract). */
import { expect, it } from 'vitest'
import type { Cycle } from '../../edge/cycle/cycle.ts'
import { judge, judgeSoFar } from '../../edge/outcome/verdict.ts'

/** Stood from 2 s on; the buffer came to its end at 3.4 s. A stop is slow from 1.375 s on. */
const cycle = (stopEndTMs: number | null): Cycle => ({
  startedTMs: 0,
  isProven: true,
  isAtCore: false,
  fillStartedTMs: null,
  lineMps: 5,
  storedM: 12,
  diameterM: 0.13,
  settingM: 0.13,
  isSet: true,
  newRollReady: true,
  stopStartTMs: 2000,
  stopEndTMs,
  backTMs: null,
  transferTMs: null,
  transferWebM: null,
  storedAtTransferM: null,
  leftOnRollM: null,
  recoveredTMs: null,
  stoppedS: null,
  webFromBufferM: null,
  lowStoredM: 0,
  minLineMps: 1,
  resetTMs: null,
  faultTMs: null,
  breakTMs: null,
  bufferEndTMs: 3400,
  lineFellTMs: 3500,
})
const causeOf = (stopEndTMs: number | null, unseenS: number) =>
  judge(cycle(stopEndTMs), {
    tMs: 20_000,
    webM: 0,
    pathLengthM: 60,
    pathPassedTMs: null,
    slowStopS: 1.375,
    unseenS,
    isSuperseded: false,
  })?.cause

it('a stop that a tag shows to last is slow by its length; one that a carriage shows may have been over for a while', () => {
  expect(causeOf(null, 0)).toBe('cycle_too_slow')
  expect(causeOf(null, 0.6)).toBe('buffer_empty')
  expect(causeOf(3500, 0.6)).toBe('buffer_empty')
  expect(causeOf(null, 0.02)).toBe('cycle_too_slow')
  // Its end was seen: nothing is open.
  expect(causeOf(3390, 0.6)).toBe('cycle_too_slow')
  expect(causeOf(3100, 0)).toBe('buffer_empty')
})

it('a refill that the recording does not hold to its end is taken to end well, a cycle just back at speed is not', () => {
  const slow = { ...cycle(3000), bufferEndTMs: null, lineFellTMs: null, transferTMs: 2500, backTMs: 5000 }
  const context = { webM: 0, pathLengthM: 60, pathPassedTMs: null, slowStopS: 1.375, unseenS: 0, isSuperseded: false }
  expect(judgeSoFar(slow, { ...context, tMs: 10_000 })).toBeUndefined()
  expect(judgeSoFar(slow, { ...context, tMs: 30_000 })).toMatchObject({ outcome: 'good', endedTMs: 30_000 })
  expect(judgeSoFar({ ...slow, transferTMs: null }, { ...context, tMs: 30_000 })).toBeUndefined()
})
