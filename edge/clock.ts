/** The only way to ask for the time. The core never does: it takes times as arguments. */
export interface Clock {
  /** Milliseconds since 1970 UTC. */
  nowMs(): number
  /** Calls `run` every `everyMs` until the returned function is called. */
  every(everyMs: number, run: () => void): () => void
}

export const systemClock: Clock = {
  nowMs: () => Date.now(),
  every(everyMs, run) {
    const timer = setInterval(run, everyMs)
    return () => clearInterval(timer)
  },
}
