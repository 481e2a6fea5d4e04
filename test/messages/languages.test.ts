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
})
