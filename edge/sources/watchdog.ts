/**
 * Says when a peer was silent for too long. It never trusts its own lateness: where this process stood still (or the clock
 * was set), the peer gets the missed time as grace, as its messages still wait to be read.
 */
import type { Clock } from '../clock.ts'

/** Declared before 1.5 × keep-alive, so that it stays within it where this process is late; proofs come twice per keep-alive. */
const SILENT_SHARE = 1.3
const CHECKS_PER_KEEP_ALIVE = 20

export class Watchdog {
  readonly #clock: Clock
  readonly #keepAliveMs: number
  readonly #onSilent: () => void
  #lastProofMs = 0
  #lastCheckMs = 0
  #isSilent = true
  #stop: (() => void) | undefined

  constructor(clock: Clock, keepAliveS: number, onSilent: () => void) {
    this.#clock = clock
    this.#keepAliveMs = keepAliveS * 1000
    this.#onSilent = onSilent
  }

  start(): void {
    this.stop()
    this.#lastCheckMs = this.#clock.nowMs()
    const everyMs = Math.max(20, this.#keepAliveMs / CHECKS_PER_KEEP_ALIVE)
    this.#stop = this.#clock.every(everyMs, () => this.#check(everyMs))
  }

  stop(): void {
    this.#stop?.()
    this.#stop = undefined
    this.#isSilent = true
  }

  /** The peer lives. */
  proof(nowMs: number): void {
    this.#lastProofMs = nowMs
    this.#isSilent = false
  }

  get isSilent(): boolean {
    return this.#isSilent
  }

  #check(everyMs: number): void {
    const nowMs = this.#clock.nowMs()
    const lateMs = nowMs - this.#lastCheckMs - everyMs
    this.#lastCheckMs = nowMs
    if (lateMs > 2 * everyMs || lateMs < -2 * everyMs) this.#lastProofMs += lateMs
    if (this.#isSilent || nowMs - this.#lastProofMs < SILENT_SHARE * this.#keepAliveMs) return
    this.#isSilent = true
    this.#onSilent()
  }
}
