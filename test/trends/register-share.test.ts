import { expect, it } from 'vitest'
import { registerShare } from '../../edge/trends/register-share.ts'

const joints = (inRegister: number, backAfterM: readonly (number | null)[]) => [
  ...Array.from({ length: inRegister }, () => ({ error: 0.1, metres: 0, repeats: 0 })),
  ...backAfterM.map((metres) => ({ error: 40, metres, repeats: metres === null ? null : Math.ceil(metres / 0.3) })),
]

it('is the share in register at the joint with its interval by Wilson (Newcombe 1998, table I: 81 of 263)', () => {
  const share = registerShare(
    joints(
      81,
      Array.from({ length: 182 }, () => 2),
    ),
  )!
  expect(share.in_register.low).toBeCloseTo(0.2553, 4)
  expect(share.in_register.high).toBeCloseTo(0.3662, 4)
  expect(share).toMatchObject({ joints: 263, metres: 364, not_back: 0 })
})

it('counts web until the others were back, and those that were not', () => {
  expect(registerShare(joints(1, [12.5, null]))).toMatchObject({ joints: 3, metres: 12.5, not_back: 1 })
  expect(registerShare([])).toBeNull()
})
