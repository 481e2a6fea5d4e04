/** How long to wait before the next attempt: doubling up to a limit, for ever, spread so that many clients don't knock at once. */
export interface BackoffOptions {
  firstMs: number
  mostMs: number
  /** Share by which a delay is spread to both sides. */
  spread: number
  /** 0 up to 1; a test passes its own. */
  random?: () => number
}

/** A PLC back after a minute is noticed within about two seconds. */
export const RECONNECT: BackoffOptions = { firstMs: 250, mostMs: 2000, spread: 0.2 }
/** Where a person has to do something first (trust a certificate): often enough to be pleasant, rare enough for a small PLC. */
export const ASK_AGAIN: BackoffOptions = { firstMs: 3000, mostMs: 5000, spread: 0.2 }
/** A refused password is tried rarely: many servers lock an account after a few wrong ones. */
export const SIGN_IN_AGAIN: BackoffOptions = { firstMs: 30_000, mostMs: 120_000, spread: 0.2 }

export class Backoff {
  readonly #options: BackoffOptions
  #attempts = 0

  constructor(options: BackoffOptions) {
    this.#options = options
  }

  /** The delay before the next attempt, ms. */
  next(): number {
    const { firstMs, mostMs, spread, random = Math.random } = this.#options
    // 2^30 is far beyond any limit and still exact.
    const plainMs = Math.min(mostMs, firstMs * 2 ** Math.min(this.#attempts, 30))
    this.#attempts += 1
    return Math.round(plainMs * (1 + spread * (2 * random() - 1)))
  }

  /** After a success: the next failure starts from the first delay. */
  reset(): void {
    this.#attempts = 0
  }
}
