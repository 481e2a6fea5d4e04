/**
 * Source clock less this machine's clock, estimated from when fresh values were stamped and when they arrived. Pure.
 *
 * Every observation d = (source time − arrival time) is the offset less the time that the value travelled, and travel
 * time is never negative: the largest d of a second comes nearest to the offset. Clocks that agree to within the travel
 * time need no correction, so the offset is then 0 and stays 0; otherwise it is taken once and stays constant, until d has moved by
 * more than a second and stays there (the clock was set). Values that come late after an outage spread d over many
 * seconds and are no step.
 */

/** A fresh value may be stamped up to this much behind arrival (sampling, publishing, network) or ahead (clock jitter) without any correction, ms. */
const AGREE_BEHIND_MS = 1000
const AGREE_AHEAD_MS = 250
/** Moves of d beyond this are a step, ms. */
const STEP_MS = 1000
/** A step is believed after so many different seconds with observations that agree among themselves. */
const STEP_SECONDS = 3
/** A clock this far behind was never set (a PLC that starts in 1970): believed at once, ms. */
const NEVER_SET_MS = 24 * 3600 * 1000
/** A time before this is no time at all: 2000-01-01, ms. */
const EARLIEST_MS = 946_684_800_000

interface Second {
  second: number
  largestMs: number
}

export class ClockOffset {
  #offsetMs: number | undefined
  /** The newest seconds that had observations, at most STEP_SECONDS. */
  #seconds: Second[] = []

  /** Source clock less this machine's clock, ms; undefined until known. */
  get offsetMs(): number | undefined {
    return this.#offsetMs
  }

  /** The peer's own clock as it stands in a message: a first estimate before any value moved. Later calls change nothing. */
  seed(peerTMs: number, arrivalTMs: number): void {
    if (this.#offsetMs !== undefined || !isTime(peerTMs)) return
    const d = peerTMs - arrivalTMs
    this.#offsetMs = agrees(d) ? 0 : d
  }

  /** A fresh value's stamp and arrival. Never pass what a peer keeps for late comers: it is older than its message. */
  observe(sourceTMs: number, arrivalTMs: number): void {
    if (!Number.isFinite(sourceTMs)) return
    const d = sourceTMs - arrivalTMs
    if (this.#offsetMs === undefined) {
      if (agrees(d)) this.#offsetMs = 0
      else if (d > AGREE_AHEAD_MS || d < -NEVER_SET_MS) this.#offsetMs = d
    }
    this.#remember(Math.floor(arrivalTMs / 1000), d)
    this.#stepOnJump()
  }

  /** Pipeline time of a stamp. One that can't be true (ahead of its arrival by more than a step, or no time at all) becomes its arrival. */
  pipelineTMs(sourceTMs: number, arrivalTMs: number): number {
    const tMs = Math.round(sourceTMs - (this.#offsetMs ?? 0))
    if (!isTime(tMs) || tMs - arrivalTMs > STEP_MS) return arrivalTMs
    return tMs
  }

  #remember(second: number, d: number): void {
    const newest = this.#seconds.at(-1)
    if (newest?.second === second) {
      newest.largestMs = Math.max(newest.largestMs, d)
      return
    }
    this.#seconds.push({ second, largestMs: d })
    if (this.#seconds.length > STEP_SECONDS) this.#seconds.shift()
  }

  #stepOnJump(): void {
    if (this.#seconds.length < STEP_SECONDS) return
    const largest = this.#seconds.map((each) => each.largestMs)
    const low = Math.min(...largest)
    const high = Math.max(...largest)
    if (high - low > STEP_MS) return
    const known = this.#offsetMs
    if (known === undefined || low > known + STEP_MS || high < known - STEP_MS) {
      this.#offsetMs = agrees(high) ? 0 : high
    }
  }
}

const agrees = (d: number): boolean => d <= AGREE_AHEAD_MS && d >= -AGREE_BEHIND_MS
const isTime = (tMs: number): boolean => Number.isFinite(tMs) && tMs >= EARLIEST_MS
