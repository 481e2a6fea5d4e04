/** What people add: folded without loss, and web that a splice cost, by hand-worked figures. */
import { describe, expect, it } from 'vitest'
import { NO_DETAILS } from '../../edge/splice-details.ts'
import {
  goodProductSeconds,
  isTakenBack,
  notesOf,
  peopleSaidOf,
  reviewOf,
  verdictOf,
  wasteOf,
} from '../../edge/splice-review.ts'
import { entryOf, START_MS, spliceView } from '../history/samples.ts'

describe('what people add', () => {
  it('is nothing until somebody does; the newest word counts and every one is kept', () => {
    expect(reviewOf([])).toBeNull()
    const entries = [
      entryOf({ outcome: 'failed', cause: 'web_break', done: ['knife_changed'] }),
      entryOf({ thing: 'edge_not_square', done: ['edge_remade', 'knife_changed'], person: 'Crew B' }),
      entryOf({ outcome: 'good' }),
    ]
    const review = reviewOf(entries)!
    expect([review.outcome, review.cause, review.thing]).toEqual(['good', null, 'edge_not_square'])
    expect(review.done).toEqual(['knife_changed', 'edge_remade'])
    expect(review.entries).toEqual(entries.map((entry) => ({ ...entry, taken_back: null })))
  })

  it('overrules the machine without touching its verdict', () => {
    const splice = spliceView(START_MS, { outcome: 'failed', cause: 'unknown' })
    expect(verdictOf(splice)).toEqual({ outcome: 'failed', cause: 'unknown' })
    const noted = { ...splice, review: reviewOf([entryOf({ note: 'looked at the knife' })]) }
    expect(verdictOf(noted)).toEqual({ outcome: 'failed', cause: 'unknown' })
    const said = { ...splice, review: reviewOf([entryOf({ outcome: 'good' })]) }
    expect([verdictOf(said), said.outcome]).toEqual([{ outcome: 'good', cause: null }, 'failed'])
  })

  it('is as if never said once it was taken back, and stays to be seen with who took it back', () => {
    const at = (s: number): string => new Date(START_MS + s * 1000).toISOString()
    const first = entryOf({ time: at(0), outcome: 'failed', cause: 'web_break', note: 'tail was carried along' })
    const mistake = entryOf({
      ...{ time: at(1), outcome: 'aborted', cause: 'splicer_fault', thing: 'knife_blunt', done: ['knife_changed'] },
      ...{
        note: 'wrong splice',
        rest: 'returned',
        amounts: [{ part: 'slab', metres: 12 }],
        gap: 0.4,
        person: 'Crew B',
      },
    })
    const back = entryOf({ time: at(2), takes_back: mistake.time, person: 'Crew C' })
    const said = reviewOf([first, mistake])!
    expect([said.outcome, said.done, said.gap, notesOf(said)]).toEqual([
      ...['aborted', ['knife_changed'], 0.4],
      ['tail was carried along', 'wrong splice'],
    ])
    const review = reviewOf([first, mistake, back])!
    const { entries, ...rest } = reviewOf([first])!
    expect(review).toEqual({ ...rest, entries: expect.anything() })
    expect(peopleSaidOf(review)).toEqual({ thing: null, done: [], notes: ['tail was carried along'] })
    expect(review.entries.map(({ note, taken_back }) => [note, taken_back])).toEqual([
      ['tail was carried along', null],
      ['wrong splice', { time: at(2), person: 'Crew C' }],
      [null, null],
    ])
    // As a store does that has some of them on disk already.
    expect(reviewOf([...reviewOf([first, mistake])!.entries, back])).toEqual(review)
    expect(entries).toHaveLength(1)
  })

  it('leaves a record that was entered by hand and taken back one that there was not', () => {
    const made = entryOf({ outcome: 'failed', by_hand: true })
    const back = entryOf({ time: new Date(START_MS + 1).toISOString(), takes_back: made.time })
    const splice = spliceView(START_MS, { closed: true })
    expect(isTakenBack({ ...splice, review: reviewOf([made]) })).toBe(false)
    const gone = { ...splice, review: reviewOf([made, back]) }
    expect([isTakenBack(gone), gone.review?.by_hand, verdictOf(gone).outcome]).toEqual([true, true, null])
    expect(isTakenBack(splice)).toBe(false)
  })

  it('counts good product from the line’s stop, else from the start', () => {
    const review = reviewOf([entryOf({ good_product: new Date(START_MS + 300_000).toISOString() })])
    const splice = spliceView(START_MS, { review })
    expect(goodProductSeconds(splice)).toBe(300)
    const details = { ...NO_DETAILS, line_fell: new Date(START_MS + 10_000).toISOString() }
    expect(goodProductSeconds({ ...splice, details })).toBe(290)
    expect(goodProductSeconds(spliceView(START_MS))).toBeNull()
  })
})

describe('web that a splice cost', () => {
  // 1.3 m wide at 64 g/m² is 83.2 g a metre; 0.09 EUR/m.
  const details = { ...NO_DETAILS, kilograms_per_metre: 0.0832, price_per_metre: 0.09, currency: 'EUR', tail: 2.5 }
  const splice = spliceView(START_MS, { left_on_roll: 68, details })
  const said = (entry: Parameters<typeof entryOf>[0], flags = '') =>
    wasteOf({ ...splice, flags, review: reviewOf([entryOf(entry)]) }).map(({ part, metres, by }) => [part, metres, by])

  it('is core and tail, in m, kg and money', () => {
    const [core, tail] = wasteOf(splice)
    expect([core?.part, tail?.part]).toEqual(['core', 'tail'])
    expect(core?.kilograms).toBeCloseTo(5.6576)
    expect(core?.cost).toBeCloseTo(6.12)
    expect(core?.currency).toBe('EUR')
    expect(tail?.metres).toBe(2.5)
    // Nothing is made of a material that isn't known.
    expect(wasteOf({ ...splice, details: { ...NO_DETAILS, tail: 2.5 } })[0]).toMatchObject({
      kilograms: null,
      cost: null,
    })
  })

  it('of an early splice is not said until somebody says', () => {
    expect(wasteOf({ ...splice, flags: 'early' })[0]?.part).toBe('not_said')
    expect(said({ early_reason: 'job_change' }, 'early')[0]).toEqual(['not_said', 68, 'measured'])
    expect(said({ rest: 'returned' }, 'early')[0]).toEqual(['stub', 68, 'measured'])
    expect(said({ rest: 'rerun' }, 'early')).toEqual([['tail', 2.5, 'measured']])
    expect(said({ rest: 'waste' }, 'early')[0]).toEqual(['core', 68, 'measured'])
  })

  it('takes a person’s figure in place of the measured one, and counts nothing twice', () => {
    const amounts = [
      { part: 'core' as const, metres: 70 },
      { part: 'slab' as const, metres: 12 },
    ]
    expect(said({ amounts })).toEqual([
      ['tail', 2.5, 'measured'],
      ['core', 70, 'person'],
      ['slab', 12, 'person'],
    ])
  })
})
