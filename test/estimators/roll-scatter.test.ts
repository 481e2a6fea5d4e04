/** How much calipers differ from roll to roll, learned from rolls that were each read with an error. */
import { describe, expect, test } from 'vitest'
import { expectRoll, learnRoll, type RollBeliefs } from '../../edge/estimators/learning/rolls.ts'
import { randomStream } from '../truth/random.ts'

const LABEL_M = 80e-6
const ERROR_SD = 0.004

/** Standard deviation that is expected of the next roll, share of its label, after `count` rolls that scatter by `rollSd`. */
function expectedSd(rollSd: number, count: number, seed: number): number {
  const random = randomStream(seed, `roll to roll ${rollSd}`)
  const beliefs: RollBeliefs = []
  for (let i = 0; i < count; i += 1) {
    const prior = expectRoll(beliefs, '', 'm', LABEL_M, 0)
    const variance = (prior.caliperSdM / LABEL_M) ** 2
    const truth = 1.03 + rollSd * random.normal()
    const read = truth + ERROR_SD * random.normal()
    // One reading of a known error by the textbook: the prior and it weighed by their variances.
    const gain = variance / (variance + ERROR_SD ** 2)
    const before = prior.caliperM / LABEL_M
    learnRoll(
      beliefs,
      {
        caliperM: (before + gain * (read - before)) * LABEL_M,
        caliperVarM2: (1 - gain) * variance * LABEL_M ** 2,
        offsetM: 0,
        offsetVarM2: 1e-12,
        slopeM: 0,
        slopeVarM2: 1e-6 * LABEL_M ** 2,
        caliperOffset: 0,
        caliperSlope: 0,
        offsetSlope: 0,
      },
      { sensor: '', material: 'm', labelM: LABEL_M, tMs: 0 },
    )
  }
  return expectRoll(beliefs, '', 'm', LABEL_M, 0).caliperSdM / LABEL_M
}

const meanOf = (rollSd: number, count: number): number => {
  const all = Array.from({ length: 40 }, (_, seed) => expectedSd(rollSd, count, seed))
  return all.reduce((sum, one) => sum + one, 0) / all.length
}

describe('GIVEN a material whose rolls differ by much or by little', () => {
  test.each([0.006, 0.0135, 0.024])(
    'WHEN sixty rolls with %s of scatter were seen THEN the next is expected to differ by as much',
    (rollSd) => {
      expect(meanOf(rollSd, 60) / rollSd).toBeGreaterThan(0.85)
      expect(meanOf(rollSd, 60) / rollSd).toBeLessThan(1.25)
    },
  )
})
