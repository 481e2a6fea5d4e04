/**
 * Words towards people: all of them stand in `messages/<language>.json`, by key, with `{name}` for what is filled in. Another
 * language is one more file there; it is loaded when somebody wants it. English is always there.
 */
import en from './messages/en.json' with { type: 'json' }

export type MessageKey = keyof typeof en
export type MessageParams = Readonly<Record<string, string | number>>

type Catalogue = Readonly<Record<string, string>>
const english: Catalogue = en
const files = import.meta.glob<{ default: Catalogue }>(['./messages/*.json', '!./messages/en.json'])
const codeOf = (path: string): string => path.slice('./messages/'.length, -'.json'.length)

/** Codes of all languages, English first. */
export const LANGUAGES: readonly string[] = ['en', ...Object.keys(files).map(codeOf).sort()]

let catalogue: Catalogue = english
let language = 'en'
let isOfSite = true

/** The language that is spoken, as a locale for numbers and times. */
export const spokenLanguage = (): string => language

/** Signs of numbers: as the reader's country writes the page's language (5.12 in es-MX, 5,12 in es-ES), where the browser says which. */
export const numberLocale = (): string => {
  const wanted = globalThis.navigator?.languages ?? []
  return wanted.find((one) => LANGUAGE_TAG.test(one) && one.split('-')[0] === language) ?? language
}

/** Browsers were seen to name what is no tag (`en-US@posix`), and a number's format refuses that. */
const LANGUAGE_TAG = /^[a-z]{2,3}(-[a-z0-9]{2,8})*$/i

/** True where the daemon's own sentences, in the site's language, are in this one too. */
export const speaksAsSite = (): boolean => isOfSite

const nearest = (wanted: string): string =>
  LANGUAGES.find((one) => one === wanted) ?? LANGUAGES.find((one) => one === wanted.split('-')[0]) ?? 'en'

/** Loads the words of a language, `de` for `de-AT` too; where there are none, English stays. */
export const speak = async (wanted: string, site = wanted): Promise<void> => {
  const code = nearest(wanted)
  isOfSite = code === nearest(site)
  const load = Object.entries(files).find(([path]) => codeOf(path) === code)?.[1]
  catalogue = load === undefined ? english : { ...english, ...(await load()).default }
  language = code
}

/** True where the catalogue has words for this key: for keys built from a name that the daemon sent. */
export const hasMessage = (key: string): key is MessageKey => Object.hasOwn(english, key)

/** The words for a key. A parameter that is not given stays visible as `{name}`: a fault to be seen, not hidden. */
export const say = (key: MessageKey, params: MessageParams = {}): string =>
  (catalogue[key] ?? key).replace(/\{(\w+)\}/g, (whole, name: string) => {
    const value = params[name]
    return value === undefined ? whole : String(value)
  })

/** Words for a name that came from outside; the name itself where the catalogue has none yet. */
export const sayName = (prefix: string, name: string): string => {
  const key = `${prefix}.${name}`
  return hasMessage(key) ? say(key) : name.replaceAll('_', ' ')
}
