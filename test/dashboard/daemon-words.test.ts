/** The daemon's sentences as each browser chose language and units; lengths after the international yard of 1959. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { alarmShort, alarmText, inWords, loadDaemonWords, reasonText } from '../../dashboard/daemon-words.ts'
import { chooseDisplay } from '../../dashboard/display.ts'
import { speak } from '../../dashboard/messages.ts'
import { createMessages } from '../../edge/messages/message.ts'
import { diameterMm, lengthM, speedAtMostMpm, type Words } from '../../edge/messages/render.ts'

const site = createMessages('en', { strict: true })
const words = {
  key: 'alarm.buffer_short.slow',
  parameters: { short: lengthM(5.5, { round: 'up' }), speed: speedAtMostMpm(165) },
}
const alarm = {
  alarm: 'buffer_short' as const,
  words,
  short: site(`${words.key}.short`, words.parameters),
  action: site(`${words.key}.action`, words.parameters),
  text: `${site(`${words.key}.what`, words.parameters)} ${site(`${words.key}.action`, words.parameters)}`,
}
const why: Words[] = [
  {
    key: 'why.departs.start',
    parameters: { value: lengthM(20.04, { decimals: 1 }), usual: lengthM(24, { decimals: 1 }), spreads: 7 },
  },
  { key: 'why.below_setting', parameters: { millimetres: diameterMm(4, 0) } },
]
const reason = { text: why.map(({ key, parameters }) => site(key, parameters)).join(' '), words: why }

const chosen = async (language: string, units: 'metric' | 'us'): Promise<void> => {
  chooseDisplay({ units })
  await speak(language, 'en')
  await loadDaemonWords()
}

describe("the daemon's sentences", () => {
  afterAll(() => chosen('en', 'metric'))

  it('stand as they came where the reader has the language and units of the site', async () => {
    await chosen('en', 'metric')
    expect(alarmText(alarm)).toBe(
      'The festoon will be 5.5 m short for the splice at this speed. Slow to 165 m/min, the highest speed for this splice.',
    )
    expect(inWords(reason)).toBe(
      'The festoon held 20.0 m at the start, usually 24.0 m: 7 of its usual spreads less. The diameter was 4 mm below its setting at the end.',
    )
  })

  describe('in German and US units', () => {
    beforeAll(() => chosen('de', 'us'))

    it('name feet, a lack rounded up and a limit rounded down to what can be set', () => {
      // 5.5 m = 18.04 ft; 165 m/min = 541.3 ft/min.
      expect(alarmText(alarm)).toBe(
        'Dem Bahnspeicher werden bei dieser Geschwindigkeit 19 ft für den Spleiß fehlen. Auf 540 ft/min verlangsamen, die höchste Geschwindigkeit für diesen Spleiß.',
      )
      expect(alarmShort(alarm)).toBe('Bahnspeicher zu knapp: auf 540 ft/min')
    })

    it('write figures as the language does', () => {
      // 20.04 m = 65.7 ft, 24 m = 78.7 ft, 4 mm = 0.157 in.
      expect(inWords(reason)).toBe(
        'Der Bahnspeicher hielt am Anfang 65,7 ft, sonst 78,7 ft: das 7-Fache der üblichen Streuung weniger. Der Durchmesser war am Ende 0,16 in unter seiner Einstellung.',
      )
    })

    it('say why nothing is known of an unwind', () => {
      const words = { key: 'reason.waiting' }
      expect(reasonText({ reason: 'Waiting for the first values.', reason_words: words })).toBe(
        'Wartet auf die ersten Werte.',
      )
      expect(reasonText({ reason: null, reason_words: null })).toBeNull()
    })

    it('join several by the words of the language', () => {
      const signal = (name: string): Words => ({ key: 'consistency.config', parameters: { signal: name } })
      const alternatives = { list: [signal('a'), signal('b'), signal('c')], by: 'consistency.or' }
      const said = inWords({ text: '', words: [{ key: 'consistency.ambiguous', parameters: { alternatives } }] })
      expect(said).toMatch(/a \([^)]+\), b \([^)]+\) oder c \(/)
    })

    it('stay as they came where the record lacks parameters or says what this dashboard has no words for', () => {
      const { words: _, ...old } = alarm
      expect(alarmText(old)).toBe(alarm.text)
      expect(alarmShort(old)).toBeUndefined()
      expect(alarmText({ ...alarm, words: { key: 'alarm.of_tomorrow' } })).toBe(alarm.text)
      expect(inWords({ text: 'as it came', words: [...why, { key: 'why.departs.web' }] })).toBe('as it came')
    })
  })
})
