/**
 * Seeded random numbers. Each purpose draws from its own stream, so that mapping one more tag or adding one more
 * disturbance leaves the physics of the same seed as it was.
 */
export interface Random {
  /** Evenly in [0, 1). */
  even(): number
  /** Mean 0, standard deviation 1. */
  normal(): number
}

/** FNV-1a, to turn a name into 32 bits of seed. */
const hash = (text: string): number => {
  let h = 0x811c9dc5
  for (let i = 0; i < text.length; i++) h = Math.imul(h ^ text.charCodeAt(i), 0x01000193)
  return h >>> 0
}

/** Small fast counter generator (sfc32) of 128 bits of state. */
export function randomStream(seed: number, purpose: string): Random {
  let a = seed >>> 0
  let b = hash(purpose)
  let c = hash(`${purpose}/${seed}`)
  let counter = 1
  const next = (): number => {
    const sum = (a + b + counter) | 0
    counter = (counter + 1) | 0
    a = b ^ (b >>> 9)
    b = (c + (c << 3)) | 0
    c = ((c << 21) | (c >>> 11)) + sum
    return (sum >>> 0) / 4294967296
  }
  for (let i = 0; i < 15; i++) next()
  let spare: number | undefined
  return {
    even: next,
    normal() {
      if (spare !== undefined) {
        const kept = spare
        spare = undefined
        return kept
      }
      // Marsaglia's polar method.
      for (;;) {
        const x = 2 * next() - 1
        const y = 2 * next() - 1
        const square = x * x + y * y
        if (square > 0 && square < 1) {
          const factor = Math.sqrt((-2 * Math.log(square)) / square)
          spare = y * factor
          return x * factor
        }
      }
    },
  }
}
