/** A further tag is yes or no by its raw type or its mapping; a count that stands at 0 and 1 is a count. */
import { describe, expect, it } from 'vitest'
import type { SignalConfig } from '../../edge/config/config.ts'
import { isStateIn } from '../../edge/signals/states.ts'
import { readValue } from '../../edge/signals/value.ts'

const tag = (changes: Partial<SignalConfig> = {}): SignalConfig => ({
  signal: 'extra.guard',
  spindle: undefined,
  tag: { source: 'plc', address: 'i=5', valuePath: undefined, timePath: undefined },
  unit: undefined,
  scale: 1,
  offset: 0,
  toSi: 1,
  range: undefined,
  bit: undefined,
  invert: false,
  equals: undefined,
  values: undefined,
  periodS: undefined,
  role: undefined,
  ...changes,
})

describe('a further tag', () => {
  it('reads truth where its tag sends truth or its mapping makes it, and a number where it sends numbers', () => {
    expect([readValue(tag(), true), readValue(tag({ invert: true }), true)]).toEqual([true, false])
    expect([readValue(tag(), 1), readValue(tag(), 0)]).toEqual([1, 0])
    expect([readValue(tag({ bit: 3 }), 8), readValue(tag({ equals: ['20'] }), 20)]).toEqual([true, true])
    expect(readValue(tag({ values: { '0': 'false', '7': 'true' } }), 7)).toBe(true)
    expect(readValue(tag(), 'closed')).toBe('closed')
  })
  it('is drawn as yes and no by that, not by the values that came', () => {
    const isState = isStateIn([tag({ signal: 'extra.bit', bit: 3 }), tag({ signal: 'extra.rejects' })], {
      guard: false,
      rejects: 1,
    })
    expect(['extra.guard', 'extra.bit', 'extra.rejects', 'extra.gone'].map(isState)).toEqual([true, true, false, false])
    expect(['new_roll_ready', 'splice_count', 'buffer_stored'].map(isState)).toEqual([true, false, false])
  })
})
