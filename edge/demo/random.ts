/** Seeded random numbers: the same seed always plays the same day at the plant. */
export class Random {
  private state: number

  constructor(seed: number) {
    this.state = seed >>> 0
  }

  /** Uniform in [0, 1). A 32-bit mixing generator: short, good enough for noise and for a script. */
  next(): number {
    this.state = (this.state + 0x6d2b79f5) >>> 0
    let mixed = this.state
    mixed = Math.imul(mixed ^ (mixed >>> 15), mixed | 1)
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61)
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4_294_967_296
  }

  between(low: number, high: number): number {
    return low + (high - low) * this.next()
  }

  /** Whole number from 0 to `count` - 1. */
  index(count: number): number {
    return Math.floor(this.next() * count)
  }

  /** Normal with mean 0 and standard deviation `sd`. */
  normal(sd: number): number {
    // 1 - next() is never 0, so the logarithm is finite.
    return sd * Math.sqrt(-2 * Math.log(1 - this.next())) * Math.cos(2 * Math.PI * this.next())
  }

  shuffled<T>(items: readonly T[]): T[] {
    const result = [...items]
    for (let last = result.length - 1; last > 0; last--) {
      const other = this.index(last + 1)
      const held = result[last] as T
      result[last] = result[other] as T
      result[other] = held
    }
    return result
  }

  /** An independent generator, so that more noise in one place doesn't change the script in another. */
  fork(): Random {
    return new Random(Math.floor(this.next() * 4_294_967_296))
  }
}
