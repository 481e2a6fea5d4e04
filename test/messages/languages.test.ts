/** Every language says all that English says, with the same parameters: another one is one file in each of two folders. */
import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { parametersOf } from '../../edge/messages/message.ts'

const ROOT = join(import.meta.dirname, '../..')
const FOLDERS = ['dashboard/messages', 'edge/messages']

const textsOf = (folder: string, name: string): Record<string, string> =>
  JSON.parse(readFileSync(join(ROOT, folder, name), 'utf8')) as Record<string, string>
const namesIn = (folder: string): string[] => readdirSync(join(ROOT, folder)).filter((name) => name.endsWith('.json'))

/** What promises safety or presses people, by language; where something is denied or warned of, the words have to stand. */
const PRESSING: Readonly<Record<string, RegExp>> = {
  en: /\b(un)?safe(ly)?\b|\bhurry|\bquick|\bfast/i,
  de: /\bsicher(?!heitsfunktion)|\bgefahrlos|\bbeeil|\beilen|\bschnell/i,
  es: /\bsegur[oa]s?\b|\bapres[uú]r|\bdeprisa|\brápid[oa]s?\b/i,
}
const isCaution = (key: string): boolean => /(^|\.)cautions?(\.|$)/.test(key)

/** One word per thing: what another text of that language calls otherwise. */
const OTHER_WORDS: Readonly<Record<string, RegExp>> = {
  // Leute; Spleiß (what a monitor does is spleißen, what does it a Splicer).
  de: /\bMensch|\bSplices?\b/,
  // Las personas.
  es: /\bgente\b/i,
}

/** Read from afar: at most so many characters. */
const WALL = /^(alarm\.[a-z_]+(\.do(\.standing)?)?|verb\..+|ready\.(yes|no|unknown)|missing\..+|festoon\.[a-z_]+)$/
const MOST_ON_WALL = 30
/** Drawn for screen readers, or in a place that fits its text. */
const NOT_ON_WALL = new Set(['festoon.short_at', 'festoon.drawing', 'alarm.acknowledged_by', 'alarm.site'])

describe.each(FOLDERS)('the languages in %s', (folder) => {
  const english = textsOf(folder, 'en.json')

  it('are the same as in the other folder', () => {
    expect(namesIn(folder).sort()).toEqual(namesIn(FOLDERS[0]!).sort())
  })

  it.each(namesIn(folder))('%s has every key once, and no other', (name) => {
    expect(Object.keys(textsOf(folder, name)).sort()).toEqual(Object.keys(english).sort())
  })

  it.each(namesIn(folder))('%s fills in the same parameters', (name) => {
    const texts = textsOf(folder, name)
    const sorted = (text: string | undefined) => [...new Set(parametersOf(text ?? ''))].sort()
    const wrong = Object.keys(english).filter((key) => `${sorted(texts[key])}` !== `${sorted(english[key])}`)
    expect(wrong).toEqual([])
  })

  it.each(namesIn(folder))('%s has no empty text', (name) => {
    expect(Object.entries(textsOf(folder, name)).filter(([, text]) => text.trim() === '')).toEqual([])
  })

  it.each(Object.keys(OTHER_WORDS))('%s has one word for each thing', (language) => {
    const texts = Object.entries(textsOf(folder, `${language}.json`))
    expect(texts.filter(([, text]) => OTHER_WORDS[language]!.test(text))).toEqual([])
  })

  it.each(namesIn(folder))('%s never promises and never presses', (name) => {
    const words = PRESSING[name.slice(0, -'.json'.length)]
    expect(words, 'add what promises or presses in this language').toBeDefined()
    const texts = Object.entries(textsOf(folder, name)).filter(([key]) => !isCaution(key))
    expect(texts.filter(([, text]) => words!.test(text))).toEqual([])
  })
})

it.each(namesIn('dashboard/messages'))('%s fits the wall', (name) => {
  const filled = (text: string): string => text.replace('{speed}', '240 m/min').replace('{time}', '14:32')
  const long = Object.entries(textsOf('dashboard/messages', name))
    .filter(([key]) => WALL.test(key) && !NOT_ON_WALL.has(key))
    .filter(([, text]) => filled(text).length > MOST_ON_WALL)
  expect(long).toEqual([])
})

it.each(namesIn('edge/messages'))('%s has heads of two lines of 30 characters', (name) => {
  const longest = {
    speed: '1000 m/min',
    short: '10.5 m',
    percent: '15',
    amplitude: '12.5 mm',
    splices: '118',
  } as Record<string, string>
  const filled = (text: string): string =>
    text.replace(/\{(\w+)\}/g, (_, key: string) => longest[key] ?? 'x'.repeat(18))
  const heads = Object.entries(textsOf('edge/messages', name)).filter(([key]) => /^alarm\..*\.short$/.test(key))
  expect(heads.filter(([, text]) => filled(text).length > 60)).toEqual([])
})

it.each(namesIn('dashboard/messages'))('%s has what is wrong and what to do beside each other on the wall', (name) => {
  const texts = textsOf('dashboard/messages', name)
  const lengthOf = (key: string): number => texts[key]!.replace('{speed}', '240 m/min').length
  const pairs = Object.keys(texts).flatMap((key) => {
    const alarm = /^(alarm\.[a-z_]+)\.do(\.standing)?$/.exec(key)?.[1]
    return alarm === undefined || texts[alarm] === undefined ? [] : [[key, lengthOf(alarm) + lengthOf(key)] as const]
  })
  expect(pairs.length).toBeGreaterThan(20)
  // 42 characters fill a lane of a 43-inch screen that is read from 8 m.
  expect(pairs.filter(([, length]) => length > 42)).toEqual([])
})
