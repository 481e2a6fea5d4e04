/**
 * Texts by key with parameters: everything that a person reads and that is not a number on a screen.
 *
 * Texts live in one JSON file per language (`../languages.ts` reads them). `{name}` in a text is a parameter. A language
 * without a file, and a key that a language lacks, fall back to English.
 */
import english from './en.json' with { type: 'json' }

/** A number, ready text, or the key of another text. */
export type Parameter = number | string | { readonly key: string }
export type Parameters = Readonly<Record<string, Parameter>>

/** Gives the text of a key with its parameters filled in. */
export type Messages = (key: string, parameters?: Parameters) => string

/** Text by key, of one language. */
export type Texts = Readonly<Record<string, string>>

/**
 * @param language as in the config's `site.language`, e.g. `en` or `en-GB`
 * @param options `strict` throws on an unknown key or a missing parameter (for tests); live, the key or the parameter's
 *   name is shown instead, for a wrong text is better than no alarm. `languages`: texts by language; English is always there.
 */
export function createMessages(
  language: string,
  options: { strict?: boolean; languages?: Readonly<Record<string, Texts>> } = {},
): Messages {
  const { strict = false, languages = {} } = options
  const fallback: Texts = english
  const texts = languages[language] ?? languages[language.split('-')[0] ?? ''] ?? fallback
  const numbers = new Intl.NumberFormat(texts === fallback ? 'en' : language, {
    // One decimal is as much as anybody reads from a wall; whole numbers stay whole.
    maximumFractionDigits: 1,
    useGrouping: false,
  })

  const messages: Messages = (key, parameters = {}) => {
    const text = texts[key] ?? fallback[key]
    if (text === undefined) {
      if (strict) throw new Error(`There is no text with the key "${key}".`)
      return key
    }
    return text.replace(/\{(\w+)\}/g, (_, name: string) => {
      const parameter = parameters[name]
      if (typeof parameter === 'number') return numbers.format(parameter)
      if (parameter !== undefined) return typeof parameter === 'string' ? parameter : messages(parameter.key)
      if (strict) throw new Error(`The text "${key}" needs the parameter "${name}".`)
      return name
    })
  }
  return messages
}

/** The names of the parameters that a text asks for. */
export const parametersOf = (text: string): string[] => [...text.matchAll(/\{(\w+)\}/g)].map((match) => match[1] ?? '')
