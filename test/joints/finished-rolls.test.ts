import { expect, it } from 'vitest'
import type { JointAtStation, JointView } from '../../edge/joint-columns.ts'
import { finishedRolls } from '../../edge/joints/finished-rolls.ts'

const START_MS = Date.parse('2026-03-02T06:00:00Z')
let count = 0
const joint = (minute: number, roll: string | null, metres: number | null, isOut = false): JointView => {
  const arrived = new Date(START_MS + minute * 60_000).toISOString()
  const station = { state: 'passed', takes_out: false, metres: -9, metres_deviation: 0.3, seconds: null, seen: null }
  const at = { ...station, out: null, out_by: null, finished_roll: null, finished_roll_metres: null, arrived }
  const stations = [
    { ...at, station: 'Gate', out: isOut ? arrived : null },
    { ...at, station: 'Rewinder', finished_roll: roll, finished_roll_metres: metres },
  ] as JointAtStation[]
  count += 1
  return { id: `press-${count}`, unwind: 'press', made: arrived, stations, broke: null, side_lay: null, register: null }
}

it('lists joints by roll, the newest roll first, and says which were taken out', () => {
  const rolls = finishedRolls([
    joint(0, 'F1', null),
    joint(3, 'F1', 300.5, true),
    joint(9, 'F2', 40),
    joint(12, null, null),
  ])
  expect(rolls.map(({ roll, joints }) => [roll, joints.map(({ metres, out }) => [metres, out])])).toEqual([
    ['F2', [[40, null]]],
    [
      'F1',
      [
        [null, null],
        [300.5, 'Gate'],
      ],
    ],
  ])
})

it('takes numbers that begin anew for other rolls', () => {
  const rolls = finishedRolls([joint(0, '1', 310), joint(60, '1', 20)])
  expect(rolls.map(({ joints }) => joints.map(({ metres }) => metres))).toEqual([[20], [310]])
})
