/** The countdown held to its word: widths against how often truths really lie inside. */
import { describe, expect, test } from 'vitest'
import {
  forgetWords,
  judge,
  noTrackRecord,
  noteTruth,
  noteWord,
  type TrackRecord,
  widthAt,
} from '../../edge/estimators/learning/track-record.ts'
import { Z80 } from '../../edge/estimators/statistics.ts'
import { randomStream } from '../truth/random.ts'

/** A splice that was foreseen 1 min ahead with a model's standard deviation of 1 m, and came `errorM` later than said. */
function splice(record: TrackRecord, errorM: number): boolean {
  const wide = widthAt(record, 60)
  noteWord(record, { seconds: 60, metres: 300, modelSdM: 1 }, 1000)
  noteTruth(record, 1300 + errorM)
  judge(record)
  return Math.abs(errorM) <= Z80 * wide
}

describe('GIVEN a model whose standard deviation is wrong by a factor', () => {
  test.each([0.7, 1, 1.8])(
    'WHEN errors are %s times as large THEN about four truths in five come to lie inside',
    (factor) => {
      const random = randomStream(11, `track record ${factor}`)
      const record = noTrackRecord()
      for (let i = 0; i < 300; i += 1) splice(record, factor * random.normal())
      let inside = 0
      for (let i = 0; i < 3000; i += 1) if (splice(record, factor * random.normal())) inside += 1
      // Adaptive conformal inference keeps the share to 1/(n·gain) of the wanted one (Gibbs & Candès 2021, from memory).
      expect(inside / 3000).toBeGreaterThan(0.77)
      expect(inside / 3000).toBeLessThan(0.83)
    },
  )

  test('WHEN ten splices all lie far inside THEN the interval is narrower by a seventh', () => {
    const record = noTrackRecord()
    const before = widthAt(record, 60)
    for (let i = 0; i < 10; i += 1) splice(record, 0)
    expect(widthAt(record, 60) / before).toBeCloseTo(Math.exp(-0.16), 6)
  })
})

describe('GIVEN what was said of a roll', () => {
  test('WHEN another roll takes its place without a splice THEN nothing is judged', () => {
    const record = noTrackRecord()
    noteWord(record, { seconds: 60, metres: 300, modelSdM: 1 }, 1000)
    forgetWords(record)
    noteTruth(record, 5000)
    judge(record)
    expect(record).toEqual(noTrackRecord())
  })

  test('WHEN the roll came into sight between two horizons THEN only those that were passed are judged', () => {
    const record = noTrackRecord()
    for (const seconds of [100, 60, 30, 20])
      noteWord(record, { seconds, metres: 5 * seconds, modelSdM: 1 }, -5 * seconds)
    noteTruth(record, 0)
    expect(record.pending.map(({ horizonS }) => horizonS)).toEqual([60, 20])
  })

  test('WHEN the line slows and a horizon is passed twice THEN the first word counts', () => {
    const record = noTrackRecord()
    noteWord(record, { seconds: 60, metres: 300, modelSdM: 1 }, 0)
    noteWord(record, { seconds: 60, metres: 150, modelSdM: 1 }, 150)
    noteTruth(record, 310)
    expect(record.pending).toEqual([{ horizonS: 60, sds: 10 }])
  })
})

test('GIVEN widths of two horizons WHEN a splice lies between THEN so does its width, and without a jump', () => {
  const record: TrackRecord = { ...noTrackRecord(), logWidth: { 60: Math.log(0.8), 120: Math.log(1.2) } }
  expect(widthAt(record, 60)).toBeCloseTo(0.8, 9)
  expect(widthAt(record, 60 * Math.SQRT2)).toBeCloseTo(Math.sqrt(0.8 * 1.2), 9)
  expect(widthAt(record, 120)).toBeCloseTo(1.2, 9)
  expect(widthAt(record, 1e6)).toBe(widthAt(record, 1800))
  expect(widthAt(record, 0)).toBe(widthAt(record, 20))
})
