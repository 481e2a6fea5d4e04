import { describe, expect, it } from 'vitest'
import { fullDiameterM } from '../../edge/pipeline-outlook.ts'

const T = 80e-6
/** π(D² − d²)/(4t), handbook relation. */
const lengthM = (outsideM: number, insideM: number): number => (Math.PI * (outsideM ** 2 - insideM ** 2)) / (4 * T)

/** A roll of this outside at its loading, now at that diameter; begun at a web count of 500 m where that was seen. */
const full = (loadedM: number, nowM: number, usualM?: number, begunAtWebM: number | undefined = 500) =>
  fullDiameterM(usualM, {
    roll: { at: () => ({ caliperM: T, diameterM: nowM }), begunAtWebM } as never,
    webM: (begunAtWebM ?? 0) + lengthM(loadedM, nowM),
    rollData: { spliceDiameterM: 0.13 } as never,
  })

describe('the diameter of a full roll', () => {
  it('is the same from the first layer to the last', () => {
    for (const nowM of [1, 0.6, 0.2, 0.13]) expect(full(1, nowM)).toBeCloseTo(1, 9)
  })
  it('is the usual one where a shorter roll runs, and that of a larger one', () => {
    const usualM = lengthM(0.8, 0.13)
    expect(full(0.4, 0.3, usualM)).toBeCloseTo(0.8, 9)
    expect(full(1, 0.3, usualM)).toBeCloseTo(1, 9)
  })
  it('is not known where no roll is', () => {
    const none = { roll: { at: () => undefined } as never, webM: 0, rollData: { spliceDiameterM: 0.13 } as never }
    expect(fullDiameterM(1000, none)).toBeUndefined()
  })
})
