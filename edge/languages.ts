/** The texts of every language that lies in `messages/`: another language is one more file there. */
import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { createMessages, type Messages } from './messages/message.ts'
import type { Texts } from './messages/render.ts'

const FOLDER = join(import.meta.dirname, 'messages')

export const LANGUAGES: Readonly<Record<string, Texts>> = Object.fromEntries(
  readdirSync(FOLDER)
    .filter((name) => name.endsWith('.json'))
    .map((name) => [name.slice(0, -'.json'.length), JSON.parse(readFileSync(join(FOLDER, name), 'utf8')) as Texts]),
)

/** @param language - as in the config's `site.language`; English where it has no file. */
export const siteMessages = (language: string): Messages => createMessages(language, { languages: LANGUAGES })

export const EVERY_LANGUAGE: ReadonlyMap<string, Messages> = new Map(
  Object.keys(LANGUAGES).map((language) => [language, siteMessages(language)]),
)
