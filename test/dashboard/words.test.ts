import { readdirSync, readFileSync } from 'node:fs'
import { fileURLToPath } from 'node:url'
import { describe, expect, it } from 'vitest'
import { alarmName } from '../../dashboard/alarm-name.ts'
import en from '../../dashboard/messages/en.json' with { type: 'json' }
import { hasMessage, say, sayName, speak } from '../../dashboard/messages.ts'
import { formatNumber, missingLength, spareLength, speedAtMost } from '../../dashboard/units.ts'
import { ALARM_IDS, CAUSES, FLAGS, OUTCOMES, PHASES } from '../../edge/columns.ts'

const DASHBOARD = fileURLToPath(new URL('../../dashboard/', import.meta.url))
const sources = readdirSync(DASHBOARD, { recursive: true, encoding: 'utf8' }).filter(
  (name) => /\.tsx?$/.test(name) && !/^(dist|node_modules)/.test(name),
)

describe('the words', () => {
  it('never promise safety and never drive people', () => {
    // "no safety function" and "never to go faster" are where the words have to stand: the cautions themselves.
    const texts = Object.entries(en).filter(([key]) => !/\.caution(\.|$)/.test(key))
    expect(texts.filter(([, text]) => /\bsafe|hurry|quick|fast/i.test(text))).toEqual([])
    expect(en['app.caution.reads']).toContain('no safety function')
  })

  it('say festoon, not buffer', () => {
    expect(Object.values(en).filter((text) => /buffer/i.test(text))).toEqual([])
  })

  it.each([
    ['alarm', ALARM_IDS],
    ['cause', CAUSES],
    ['flag', FLAGS],
    ['outcome', OUTCOMES],
    ['phase', PHASES],
  ] as const)('have every %s', (prefix, names) => {
    expect(names.filter((name) => !hasMessage(`${prefix}.${name}`))).toEqual([])
  })

  it('say for every alarm what to do, in at most 30 characters', () => {
    for (const alarm of ALARM_IDS) {
      const key = `alarm.${alarm}.do`
      expect(hasMessage(key), key).toBe(true)
      expect(sayName(`alarm.${alarm}`, 'do').length, key).toBeLessThanOrEqual(30)
      expect(sayName('alarm', alarm).length).toBeLessThanOrEqual(30)
      // Beside each other on a far wall: a bold character counts for a quarter more.
      expect(1.25 * sayName(`alarm.${alarm}`, 'do').length + sayName('alarm', alarm).length, key).toBeLessThanOrEqual(
        48,
      )
    }
  })

  it('stand in the catalogue alone: no key is unused', () => {
    const code = sources.map((name) => readFileSync(DASHBOARD + name, 'utf8')).join('\n')
    // Keys that are put together from a name have their stem in the code: `phase.${…}`.
    const stems = [...code.matchAll(/[`']([a-z_.]+)\.\$\{/g)].map((match) => match[1]!)
    const byName = [...code.matchAll(/sayName\('([a-z_.]+)'/g)].map((match) => match[1]!)
    const isUsed = (key: string) =>
      code.includes(`'${key}'`) || [...stems, ...byName].some((stem) => key.startsWith(`${stem}.`))
    expect(Object.keys(en).filter((key) => !isUsed(key))).toEqual([])
  })

  it('leave an unfilled parameter visible, and a name without words readable', () => {
    expect(say('time.splice_at', {})).toBe('splice {time}')
    expect(sayName('alarm', 'something_new')).toBe('something new')
  })
})

describe('an alarm', () => {
  it('is called in the language of the screen, also where the site has another', async () => {
    const failed = { alarm: 'splice_failed', short: 'Splice failed: web break' } as const
    expect(alarmName(failed)).toBe('Splice failed: web break')
    await speak('de', 'en')
    expect(alarmName(failed)).toBe(say('alarm.splice_failed'))
    expect(alarmName(failed)).not.toContain('Splice')
    await speak('en')
  })
})

describe('numbers on screen', () => {
  it('show a dash for what is unknown, never 0', () => {
    expect([formatNumber(null, 1), formatNumber(undefined, 1), formatNumber(Number.NaN, 1)]).toEqual(['–', '–', '–'])
  })
  it('have no sign on a zero and a real minus otherwise', () => {
    expect(formatNumber(-0.04, 1)).toBe('0.0')
    expect(formatNumber(-0.06, 1)).toBe('−0.1')
  })
  it('round towards caution', () => {
    expect([spareLength(6.9), missingLength(2.1), speedAtMost(244.9), speedAtMost(47.8)]).toEqual([
      '6 m',
      '3 m',
      '240 m/min',
      '47 m/min',
    ])
  })
})
