import { describe, expect, it } from 'vitest'
import { arrivalWords, jointWords } from '../../dashboard/wall/joint-words.ts'
import type { UnwindView } from '../../edge/api/messages.ts'
import type { JointAtStation } from '../../edge/joint-columns.ts'

const station = (fields: Partial<JointAtStation>): JointAtStation => ({
  station: 'Die cutter',
  state: 'due',
  takes_out: true,
  metres: 12.9,
  metres_deviation: 0.3,
  seconds: 2.6,
  arrived: null,
  seen: null,
  out: null,
  out_by: null,
  finished_roll: null,
  finished_roll_metres: null,
  ...fields,
})
const view = (...stations: JointAtStation[]): UnwindView =>
  ({
    joints: [{ id: 'a-1', unwind: 'a', made: '', stations, broke: null, side_lay: null, register: null }],
  }) as unknown as UnwindView

describe('the joint on the wall', () => {
  it('is the next one that has to be taken out, never farther than it is', () => {
    expect(jointWords(view(station({ metres: 40, seconds: 8, station: 'Oven' }), station({})))).toBe(
      'Joint 12 m to Die cutter',
    )
  })
  it('that passed and was not confirmed stays', () => {
    expect(jointWords(view(station({ state: 'passed', metres: -3.2, seconds: null })))).toBe(
      'Joint 4 m past Die cutter',
    )
  })
  it.each([
    ['nothing has to be taken out', station({ takes_out: false })],
    ['it is far away', station({ seconds: 400 })],
    ['it was taken out', station({ state: 'out', seconds: null, metres: -9 })],
    ['the alarm speaks of it', station({ state: 'unconfirmed', seconds: null, metres: -40 })],
  ])('is not told where %s', (_name, one) => expect(jointWords(view(one))).toBeUndefined())
})

describe('an arrival that asks for nothing', () => {
  it('is told at the nearest station that the joint has not reached', () => {
    const oven = station({ station: 'Oven', takes_out: false, metres: 31.2, seconds: 6.2 })
    const coater = station({ station: 'Coater', takes_out: false, metres: 4.9, seconds: 1 })
    const behind = station({ station: 'Nip', takes_out: false, state: 'passed', metres: -3, seconds: null })
    expect(arrivalWords(view(behind, oven, coater))).toBe('Joint 4 m to Coater')
    expect(jointWords(view(behind, oven, coater))).toBeUndefined()
  })
  it.each([
    ['the line stands', station({ takes_out: false, seconds: null })],
    ['it is far away', station({ takes_out: false, seconds: 121 })],
    ['it has passed', station({ takes_out: false, state: 'passed', metres: -1, seconds: null })],
  ])('is not told where %s', (_name, one) => expect(arrivalWords(view(one))).toBeUndefined())
})
