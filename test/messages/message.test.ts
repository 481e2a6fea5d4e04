import { describe, expect, it } from 'vitest'
import { SITE_ALARMS, UNWIND_ALARMS } from '../../edge/alarms/catalogue.ts'
import { CAUSES } from '../../edge/columns.ts'
import english from '../../edge/messages/en.json' with { type: 'json' }
import { createMessages, parametersOf } from '../../edge/messages/message.ts'
import { lengthM } from '../../edge/messages/render.ts'
import { SIGNAL_NAMES } from '../../edge/signals/catalogue.ts'

const texts: Record<string, string> = english
const alarmTexts = [...UNWIND_ALARMS, ...SITE_ALARMS].flatMap((alarm) => Object.entries(alarm.texts))

describe('messages', () => {
  const strict = createMessages('en', { strict: true })

  it('fill in numbers, words and other texts', () => {
    expect(strict('alarm.buffer_short.slow.what', { short: lengthM(2.5) })).toBe(
      'The festoon will be 2.5 m short for the splice at this speed.',
    )
    expect(strict('alarm.splice_missed.short', { cause: { key: 'cause.ran_out' } })).toBe('Splice missed: roll ran out')
  })

  it('show no more than one decimal', () => {
    expect(strict('alarm.buffer_short.short', { short: lengthM(1 / 3) })).toBe('Festoon short by 0.3 m')
  })

  it('throw on what is unknown in tests, and show the key live', () => {
    expect(() => strict('alarm.nothing.text')).toThrow('There is no text with the key "alarm.nothing.text".')
    expect(() => strict('alarm.buffer_short.what')).toThrow('needs the parameter "short"')
    const live = createMessages('en')
    expect(live('alarm.nothing.text')).toBe('alarm.nothing.text')
    expect(live('alarm.buffer_short.short')).toBe('Festoon short by short')
  })

  it('fall back to English where a language has no file', () => {
    for (const language of ['en-GB', 'de', '']) expect(createMessages(language)('cause.ran_out')).toBe('roll ran out')
  })
})

describe('the English texts', () => {
  it('never promise and never press', () => {
    for (const text of Object.values(texts)) expect(text).not.toMatch(/safe|hurry/i)
  })

  it('are there for every cause', () => {
    for (const cause of CAUSES) expect(texts[`cause.${cause}`]).toBeDefined()
  })

  it('are there for every alarm, ask for what the catalogue supplies and no more', () => {
    for (const [key, supplied] of alarmTexts) {
      const asked = ['short', 'what', 'action'].flatMap((part) =>
        parametersOf(texts[`alarm.${key}.${part}`] ?? '{none}'),
      )
      expect([...new Set(asked)].sort(), key).toEqual([...supplied].sort())
    }
  })

  it('are there for every signal', () => {
    for (const name of SIGNAL_NAMES) expect(texts[`signal.${name}`], name).toBe(name.replaceAll('_', ' '))
  })

  it('have no text for an alarm that does not exist', () => {
    const known = new Set(
      alarmTexts.flatMap(([key]) => [`alarm.${key}.short`, `alarm.${key}.what`, `alarm.${key}.action`]),
    )
    expect(Object.keys(texts).filter((key) => key.startsWith('alarm.') && !known.has(key))).toEqual([])
  })

  it('are two sentences, what is wrong and what to do, with a head of two lines of 30 characters', () => {
    const longest: Record<string, string> = {
      signal: 'buffer position',
      cause: 'cause not known',
      speed: '1000 m/min',
      short: '10.5 m',
      source: 'hall_broker',
      address: 'sack/line#speed',
      percent: '15',
      direction: 'thinner',
      reason: 'The disk is full.',
      amplitude: '12.5 mm',
      factor: '3.28',
      metres: '120 m',
      station: 'Die cutter',
      metric: 'Time stopped',
      side: 'A',
      splices: '118',
      fault: 'it is on hold',
      spindle: 'A',
      actual: 'mm',
      stated: 'in',
    }
    const messages = createMessages('en', { strict: true })
    for (const [key] of alarmTexts) {
      expect(messages(`alarm.${key}.short`, longest).length, key).toBeLessThanOrEqual(60)
      expect(messages(`alarm.${key}.what`, longest), key).toMatch(/^[A-Z].*\.$/)
      expect(messages(`alarm.${key}.action`, longest), key).toMatch(/^[A-Z].*\.$/)
    }
  })

  it('say slow or stop, not more work, where too little time is left to prepare', () => {
    for (const key of [
      'roll_not_ready.slow',
      'roll_not_ready.slow_or_stop',
      'splicer_not_auto.stop',
      'splicer_not_auto.fault_stop',
    ]) {
      expect(texts[`alarm.${key}.action`], key).toMatch(/^Slow .*stop the line\.$/)
    }
    expect(texts['alarm.roll_not_ready.stop.action']).toBe('Stop the line.')
  })
})
