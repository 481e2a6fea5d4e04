/**
 * Texts by key with parameters: everything that a person reads and that is not a number on a screen.
 *
 * Texts live in one JSON file per language. `{name}` in a text is a parameter. A language without a file, and a key that
 * a language lacks, fall back to English.
 */
import english from './en.json' with { type: 'json' }

/** A number, ready text, or the key of another text. */
export type Parameter = number | string | { readonly key: string }
export type Parameters = Readonly<Record<string, Parameter>>

/** Gives the text of a key with its parameters filled in. */
export type Messages = (key: string, parameters?: Parameters) => string

const LANGUAGES: Readonly<Record<string, Readonly<Record<string, string>>>> = { en: english }

export const MESSAGE_LANGUAGES = Object.keys(LANGUAGES)

/**
 * @param language as in the config's `site.language`, e.g. `en` or `en-GB`
 * @param options `strict` throws on an unknown key or a missing parameter (for tests); live, the key or the parameter's
 *   name is shown instead, for a wrong text is better than no alarm.
 */
export function createMessages(language: string, options: { strict?: boolean } = {}): Messages {
  const strict = options.strict ?? false
  const fallback: Readonly<Record<string, string>> = english
  const texts = LANGUAGES[language] ?? LANGUAGES[language.split('-')[0] ?? ''] ?? fallback

  const messages: Messages = (key, parameters = {}) => {
    const text = texts[key] ?? fallback[key]
    if (text === undefined) {
      if (strict) throw new Error(`There is no text with the key "${key}".`)
      return key
    }
    return text.replace(/\{(\w+)\}/g, (_, name: string) => {
      const parameter = parameters[name]
      if (parameter !== undefined) return shown(parameter, messages)
      if (strict) throw new Error(`The text "${key}" needs the parameter "${name}".`)
      return name
    })
  }
  return messages
}

/** The names of the parameters that a text asks for. */
export const parametersOf = (text: string): string[] => [...text.matchAll(/\{(\w+)\}/g)].map((match) => match[1] ?? '')

/** One decimal is as much as anybody reads from a wall; whole numbers stay whole. */
function shown(parameter: Parameter, messages: Messages): string {
  if (typeof parameter === 'number') return String(Math.round(parameter * 10) / 10)
  return typeof parameter === 'string' ? parameter : messages(parameter.key)
}
