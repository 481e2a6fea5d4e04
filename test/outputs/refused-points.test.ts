import { expect, it } from 'vitest'
import { lineOf } from '../../edge/outputs/line-protocol.ts'
import type { Point } from '../../edge/outputs/output.ts'
import { refusedPoints } from '../../edge/outputs/refused-points.ts'

const point = (fields: Point['fields'], tMs = 1): Point => ({ measurement: 'signal', tags: { site: 'A' }, fields, tMs })
const POINTS = [point({ a: 1 }), point({ a: 'x' }), point({ b: 2 }), point({ a: 3 }, 2)]
const LINES = POINTS.map(lineOf)

// As InfluxDB 1.6.7 words it; the server tests hold the wording against the real one.
const conflict = (dropped: number): string =>
  `{"error":"partial write: field type conflict: input field \\"a\\" on measurement \\"signal\\" is type string, already exists as type float dropped=${dropped}"}`

it('finds the points of a type conflict by field, measurement and type', () => {
  const reason = 'field a of signal is string here and float in the database'
  expect(refusedPoints(conflict(1), POINTS, LINES)).toEqual([{ index: 1, reason }])
})

it('does not guess where the count says that there is more than the answer names', () => {
  expect(refusedPoints(conflict(2), POINTS, LINES)).toBeUndefined()
})

it('finds lines that could not be parsed', () => {
  const answer = `partial write: unable to parse '${LINES[2]}': invalid number dropped=0`
  expect(refusedPoints(answer, POINTS, LINES)).toEqual([
    { index: 2, reason: 'unable to parse: invalid number dropped=0' },
  ])
})

it('does not take an answer without a partial write for one', () => {
  expect(refusedPoints("unable to parse 'x': y", POINTS, LINES)).toBeUndefined()
  expect(refusedPoints('', POINTS, LINES)).toBeUndefined()
})
