/** Why: the evidence in words against made-up splices whose reason is known, and the band against a statistics library. */
import { quantile as reference } from 'simple-statistics'
import { describe, expect, it } from 'vitest'
import type { SpliceView } from '../../edge/api/messages.ts'
import { explain } from '../../edge/history/explain.ts'
import { goodBand, quantile } from '../../edge/history/good-band.ts'
import type { Kept } from '../../edge/history/store.ts'
import { createMessages } from '../../edge/messages/message.ts'
import { comparable, departures } from '../../edge/outcome/why.ts'
import { NO_DETAILS, type SpliceDetails } from '../../edge/splice-details.ts'
import { reviewOf } from '../../edge/splice-review.ts'
import { entryOf, START_MS, spliceView } from '../history/samples.ts'

const at = (seconds: number) => new Date(START_MS + seconds * 1000).toISOString()
const messages = createMessages('en', { strict: true })

/** Stops of 1.1 s that scatter by hundredths, an hour apart, newest first. */
const good = [0, 3, -2, 1, -1, 4, -3, 2].map((hundredths, index) => {
  const startedTMs = START_MS - (index + 1) * 3_600_000
  return spliceView(startedTMs, {
    outcome: 'good',
    stopped_seconds: 1.1 + hundredths / 100,
    transfer: new Date(startedTMs + 2500).toISOString(),
    has_trace: true,
    details: { ...NO_DETAILS, new_spindle: 'A', buffer_at_start: 28.5 },
  })
})
const explained = (changes: Partial<SpliceView>, details: Partial<SpliceDetails> = {}, joints: Kept[] = []) =>
  explain(spliceView(START_MS, { ...changes, details: { ...NO_DETAILS, new_spindle: 'A', ...details } }), {
    store: {
      splices: () => good,
      kept: () => joints,
      tracePoints: (id) => {
        const startedTMs = Number(id.split('-')[1])
        const of = (second: number, value: number) => ({
          unwind: 'label_press',
          signal: 'tension',
          tMs: startedTMs + second * 1000,
          value,
        })
        return [of(-60, 180), of(2.5, 150 + ((startedTMs / 3_600_000) % 8)), of(60, 180)]
      },
    },
    messages,
    unitOf: () => 'N',
    isState: () => false,
  })

describe('a failure by a web break', () => {
  it('says where the web parted, if not at the joint that the splice made', async () => {
    const { id, unwind } = spliceView(START_MS)
    const whyWith = async (at_joint: boolean, cause: 'web_break' | 'splicer_fault' = 'web_break') => {
      const view = JSON.stringify({ broke: { time: at(20), at_joint, station: null } })
      const joint: Kept = { kind: 'joint', id, unwind, tMs: START_MS, view }
      return (await explained({ outcome: 'failed', cause, transfer: at(2) }, { web_parted: at(20) }, [joint])).text
    }
    expect(await whyWith(false)).toContain('It did not part where this joint was.')
    expect(await whyWith(true)).not.toContain('not part where')
    expect(await whyWith(false, 'splicer_fault')).not.toContain('not part where')
  })

  it('keeps what was seen, and says what people called it', async () => {
    const { id, unwind } = spliceView(START_MS)
    const view = JSON.stringify({ broke: { time: at(20), at_joint: false, station: null } })
    const joint: Kept = { kind: 'joint', id, unwind, tMs: START_MS, view }
    const textOf = async (entry: Parameters<typeof entryOf>[0]) => {
      const review = reviewOf([entryOf(entry)])
      const failed = { outcome: 'failed', cause: 'web_break', transfer: at(2), review } as const
      return (await explained(failed, { web_parted: at(20) }, [joint])).text
    }
    const seen = 'It did not part where this joint was.'
    expect(await textOf({ outcome: 'good' })).toMatch(new RegExp(`${seen}.* People say that it was good\\.$`))
    expect(await textOf({ outcome: 'failed', cause: 'splicer_fault' })).toMatch(
      new RegExp(`${seen}.* People say that it failed: splicer fault\\.$`),
    )
    expect(await textOf({ note: 'looked at it' })).not.toContain('People say')
  })
})

describe('where too few good ones are kept', () => {
  const planned = { stopS: 1.5, decelerationMps2: 1.25 }
  /** 270 m/min is 4.5 m/s: 3.6 s to a standstill at 1.25 m/s². */
  const textOf = async (changes: Partial<SpliceView>, plan: typeof planned | undefined = planned) =>
    (
      await explain(spliceView(START_MS, { speed: 270, details: NO_DETAILS, ...changes }), {
        store: { splices: () => [], kept: () => [], tracePoints: () => [] },
        messages,
        unitOf: () => '',
        isState: () => false,
        planned: plan,
      })
    ).text

  it('compares with the config', async () => {
    const phases = [{ phase: 'decelerate', started: at(0), seconds: 3.61 }] as const
    expect(
      await textOf({ outcome: 'failed', cause: 'cycle_too_slow', stopped_seconds: 3.72, phases: [...phases] }),
    ).toMatch(/^The stop took 3\.7 s; the config says 1\.5 s\. Good splices .* fewer than 5\.$/)
    expect(await textOf({ outcome: 'good', stopped_seconds: 1.52, phases: [...phases] })).toMatch(
      /^It went as the config says: the stop took 1\.52 s, the config says 1\.50 s\. Good splices/,
    )
    const slow = [{ ...phases[0], seconds: 5 }]
    expect(await textOf({ outcome: 'good', stopped_seconds: 0.9, phases: slow })).toMatch(
      /^The web took 5\.0 s to slow down; its settings give 3\.6 s\. The stop took 0\.9 s only; the config says 1\.5 s\./,
    )
  })

  it('says of a good one without a stop what was not seen', async () => {
    expect(await textOf({ outcome: 'good', stopped_seconds: null }, undefined)).toMatch(/^No fault, no web break/)
  })
})

describe('why', () => {
  it('says of a splice that no signal saw that there is nothing to compare', async () => {
    const review = reviewOf([entryOf({ outcome: 'failed', by_hand: true })])
    const why = await explained({ outcome: null, review })
    expect(why).toMatchObject({ text: 'No signal saw it: there is nothing to compare.', compared: [], band: null })
  })

  it('names the phase that departed, and what came of it in which order', async () => {
    const why = await explained(
      {
        outcome: 'failed',
        cause: 'cycle_too_slow',
        stopped_seconds: 1.9,
        phases: [
          { phase: 'stopped', started: at(2), seconds: 1.9 },
          { phase: 'accelerate', started: at(3.9), seconds: 40 },
        ],
        transfer: at(3.2),
      },
      { buffer_ended: at(3.5), buffer_at_start: 28.4, margin_forecast: 1.8 },
    )
    // Spread: MAD of {±0.01, 0.02, 0.03, 0.04, 0} is 0.02; × 1.4826 is 0.03, less than the 0.05 s that a trace resolves.
    expect(why.departures.map(({ phase, usual, spreads }) => [phase, usual.toFixed(3), Math.round(spreads)])).toEqual([
      ['stopped', '1.105', 16],
    ])
    expect(why.text).toBe(
      'The stop took 1.9 s, usually 1.1 s: 16 of its usual spreads longer. The festoon reached its end 0.4 s before the web moved. Just before, 1.8 m to spare were forecast.',
    )
    expect(why.compared).toHaveLength(8)
  })

  it('takes what failing did for no reason of it', async () => {
    const bad = {
      outcome: 'failed',
      cause: 'web_break',
      stopped_seconds: 1.12,
      buffer_low: 0,
      transfer: at(2.5),
    } as const
    const why = await explained(bad, { web_parted: at(7.3), tension_low: 0, buffer_at_start: 28.4 })
    expect(why.departures).toEqual([])
    expect(why.text).toMatch(/^The web parted 4\.8 s after the transfer\. Beside that nothing .* last 8 good splices/)
  })

  it.each([
    [
      { outcome: 'missed', cause: 'no_new_roll' },
      { trigger_offset: -26.2 },
      /^The new roll was not ready .* 26 mm below its setting at the end\.$/,
    ],
    [{ outcome: 'missed', cause: 'ran_out' }, {}, /^The splicer did not begin its cycle\.$/],
    [
      { outcome: 'aborted', cause: 'splicer_fault' },
      { faulted: at(2) },
      /fault 2\.0 s after the start\. The cycle reset/,
    ],
    [{ outcome: 'failed', cause: 'unknown' }, { line_fell: at(4) }, /^The line fell below a fifth of its speed 4\.0 s/],
    [{ outcome: 'good' }, { buffer_at_start: 28.4 }, /^Nothing that was measured departs/],
  ] as const)('of %j with %j', async (changes, details, text) => {
    expect((await explained(changes, details)).text).toMatch(text)
  })

  it('compares with good ones of the same side and speed class only, by what people say', () => {
    const splice = spliceView(START_MS, { details: { ...NO_DETAILS, new_spindle: 'A' } })
    const other = (changes: Partial<SpliceView>) => ({ ...good[0]!, ...changes })
    expect(comparable(splice, [other({ speed: 271 })])).toHaveLength(1)
    expect(comparable(splice, [other({ speed: 269 })])).toEqual([])
    // The side is the one that made the joint, where the new roll is; where the old one ran off is nothing to it.
    expect(comparable(splice, [other({ details: { ...NO_DETAILS, new_spindle: 'B' } })])).toEqual([])
    expect(comparable(splice, [other({ details: { ...NO_DETAILS, spindle: 'C', new_spindle: 'A' } })])).toHaveLength(1)
    // So is that of a cycle which went wrong before: where the new roll waited.
    const before = spliceView(START_MS, { details: { ...NO_DETAILS, spindle: 'B', waiting_spindle: 'A' } })
    expect(comparable(before, [other({ details: { ...NO_DETAILS, new_spindle: 'A' } })])).toHaveLength(1)
    expect(comparable(before, [other({ details: { ...NO_DETAILS, new_spindle: 'B' } })])).toEqual([])
    expect(comparable(splice, [other({ review: reviewOf([entryOf({ outcome: 'failed' })]) })])).toEqual([])
    expect(departures(spliceView(START_MS, { stopped_seconds: 9 }), good.slice(0, 4))).toEqual([])
  })
})

describe('the band of good splices', () => {
  it('has its quantiles as the library has them (linear between order statistics at its own positions)', () => {
    const values = [3, 1, 4, 1, 5, 9, 2, 6, 5].sort((a, b) => a - b)
    expect(quantile(values, 0.5)).toBe(reference(values, 0.5))
    expect(quantile([0, 10], 0.1)).toBe(1)
    expect(quantile([7], 0.9)).toBe(7)
  })

  it('is moved to this splice’s transfer', async () => {
    const { band } = await explained({ outcome: 'good', transfer: at(2.5) })
    const { time, columns } = band!
    const value = (second: number) => columns[0]!.median[time.indexOf(START_MS + second * 1000)]
    expect([value(2.3), value(2.5)].map((one) => one === 180)).toEqual([true, false])
    expect(band!.splices).toBe(8)
    expect(columns[0]!.low.at(110)!).toBeLessThan(columns[0]!.high.at(110)!)
  })

  it('leaves out what is only on or off, and stands on five traces at least', () => {
    const trace = (value: number) => ({
      transferTMs: 0,
      points: [{ unwind: 'u', signal: 'splice_active', tMs: -60_000, value }],
    })
    const six = Array.from({ length: 6 }, (_, i) => trace(i % 2))
    expect(goodBand(six, (signal) => signal === 'splice_active')).toBeUndefined()
    // A count that has not come farther than one yet is a number all the same.
    expect(goodBand(six, () => false)?.columns[0]?.median[0]).toBe(0.5)
    expect(goodBand([trace(3)], () => false)).toBeUndefined()
  })
})
