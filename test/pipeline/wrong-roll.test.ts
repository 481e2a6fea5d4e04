/** A roll that the job can't take: refused while it waits, and told where it is spliced in all the same. */
import { describe, expect, test } from 'vitest'
import type { Sample } from '../../edge/sample.ts'
import { simulate } from '../truth/line-simulator.ts'
import { USUAL } from '../truth/scenario.ts'
import { newReplay, samplesOf } from './replay-simulation.ts'

const RUN = simulate({ preparationS: 40, durationS: 620, seed: 5, signals: USUAL })
const { unwind } = RUN.scenario
const SPLICE_TMS = RUN.splices[0]!.startedTMs

/** Entries of one moment, as the operator makes them. */
const entries = (tMs: number, said: Readonly<Record<string, string | number>>): Sample[] =>
  Object.entries(said).map(([address, value]) => ({
    source: 'operator',
    address: address.replace('UNWIND', unwind),
    value,
    quality: 'good',
    tMs,
    arrivalTMs: tMs,
    person: 'R. Lind',
  }))

/** The alarms that the monitor raises and clears, and the next splices as planned just before the first. */
function run(more: readonly Sample[], untilTMs = Number.POSITIVE_INFINITY) {
  const { replay, said } = newReplay(RUN.config)
  const samples = [...samplesOf(RUN.rows), ...more].sort((a, b) => a.tMs - b.tMs)
  replay.take(samples.filter(({ tMs }) => tMs <= SPLICE_TMS - 5000))
  const plan = replay.unwinds.advise(unwind, SPLICE_TMS - 5000, (advisor) => advisor.view(SPLICE_TMS - 5000))!
  replay.take(samples.filter(({ tMs }) => tMs > SPLICE_TMS - 5000 && tMs <= untilTMs))
  expect(said.faults).toEqual([])
  return { plan, alarms: said.alarms.filter(({ alarm }) => alarm === 'wrong_roll_spliced') }
}

const FROM_TMS = SPLICE_TMS - 60_000
const JOB = { 'job/UNWIND/material': 'Film 38' }
const WRONG = { ...JOB, 'waiting/UNWIND/material': 'Film 50', 'waiting/UNWIND/length': 4321 }

describe('GIVEN a roll of another material than the job needs', () => {
  test('WHEN it is spliced in THEN that is an alarm, with what is wrong, until the job takes it', () => {
    const { alarms } = run([
      ...entries(FROM_TMS, WRONG),
      ...entries(SPLICE_TMS + 60_000, { 'job/UNWIND/material': 'Film 50' }),
    ])
    expect(alarms.map(({ event, priority }) => [event, priority])).toEqual([
      ['raised', 'high'],
      ['cleared', 'high'],
    ])
    expect(Date.parse(alarms[0]!.time) - SPLICE_TMS).toBeLessThan(15_000)
    expect(alarms[0]!.text).toBe(
      "A roll that the job can't take was spliced in: material Film 38 is needed, this is Film 50. Stop the line or splice to the right roll, and set aside what was made of this one.",
    )
    expect(Date.parse(alarms[1]!.time)).toBeGreaterThanOrEqual(SPLICE_TMS + 60_000)
  })

  test('WHEN it is exchanged in time THEN nothing is raised', () => {
    const right = entries(SPLICE_TMS - 20_000, { 'waiting/UNWIND/material': 'Film 38' })
    expect(run([...entries(FROM_TMS, WRONG), ...right]).alarms).toEqual([])
  })

  test('WHEN the next splices are planned THEN its length is not counted on, and the right material stands there', () => {
    const of = (said: typeof WRONG) => run(entries(FROM_TMS, said), SPLICE_TMS).plan.next_splices[1]
    expect(of({ ...WRONG, 'waiting/UNWIND/material': 'Film 38' })).toMatchObject({ roll: 'waiting' })
    expect(of(WRONG)?.roll).not.toBe('waiting')
    expect(of(WRONG)?.material ?? 'Film 38').toBe('Film 38')
  })
})
