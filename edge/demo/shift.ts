/** How the line is run: producing, stopping, standing while somebody clears up, threading, producing again. */
import type { Drive } from './drive.ts'

export type LineMode = 'run' | 'thread' | 'stopped'
export type StopReason = 'planned' | 'run_out' | 'web_break' | 'buffer_empty'

/** `hands`: the crew works at the unwind (changes a roll); `reset`: faults are acknowledged at the panel. */
export type ShiftEvent = 'hands' | 'reset' | 'restarted'

const THREAD_S = 6
const RESET_BEFORE_END_S = 3
const STANDS_BELOW_MPS = 0.005

export class Shift {
  stopReason: StopReason | undefined
  private phase: 'producing' | 'stopping' | 'standing' | 'threading' = 'producing'
  private standS = 0
  private leftS = 0
  private readonly threadMps: number

  constructor(threadMps: number) {
    this.threadMps = threadMps
  }

  get mode(): LineMode {
    if (this.phase === 'standing') return 'stopped'
    return this.phase === 'threading' ? 'thread' : 'run'
  }

  get isProducing(): boolean {
    return this.phase === 'producing'
  }

  get stands(): boolean {
    return this.phase === 'standing'
  }

  stop(reason: StopReason, standS: number, drive: Drive): void {
    this.stopReason = reason
    this.standS = standS
    this.phase = 'stopping'
    if (reason === 'planned') drive.goTo(0)
    else drive.stopFast()
  }

  step(dtS: number, drive: Drive): ShiftEvent | undefined {
    const before = this.leftS
    this.leftS -= dtS
    const passes = (markS: number): boolean => before > markS && this.leftS <= markS
    if (this.phase === 'stopping' && drive.speedMps < STANDS_BELOW_MPS) {
      this.phase = 'standing'
      this.leftS = this.standS
      // The panel shows no speed to go to while the line stands.
      drive.goTo(0)
    } else if (this.phase === 'standing') {
      if (this.stopReason !== 'planned' && passes(this.standS / 2)) return 'hands'
      if (passes(RESET_BEFORE_END_S)) return 'reset'
      if (this.leftS <= 0) this.leave(drive)
    } else if (this.phase === 'threading' && this.leftS <= 0) {
      this.phase = 'producing'
    }
    if (this.phase === 'producing' && this.stopReason !== undefined) {
      this.stopReason = undefined
      return 'restarted'
    }
    return undefined
  }

  private leave(drive: Drive): void {
    this.phase = this.stopReason === 'planned' ? 'producing' : 'threading'
    this.leftS = THREAD_S
    if (this.phase === 'threading') drive.goTo(this.threadMps)
  }
}
