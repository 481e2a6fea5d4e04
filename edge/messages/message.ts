/**
 * Texts by key with parameters: everything that a person reads and that is not a number on a screen.
 *
 * Texts live in one JSON file per language (`../languages.ts` reads them). `{name}` in a text is a parameter. A language
 * without a file, and a key that a language lacks, fall back to English.
 */
import english from './en.json' with { type: 'json' }
import { type Figure, type FigureQuantity, type Parameters, type Renderer, render, type Texts } from './render.ts'

/** Gives the text of a key with its parameters filled in. */
export type Messages = (key: string, parameters?: Parameters) => string

const UNITS: Readonly<Record<FigureQuantity, string>> = {
  length: 'm',
  diameter: 'mm',
  thickness: 'µm',
  speed: 'm/min',
  force: 'N',
}

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
  const number = numbersIn(texts === fallback ? 'en' : language)
  const renderer: Renderer = {
    textOf: (key) => texts[key] ?? fallback[key],
    number: (value) => number(value),
    figure: (figure) => metricFigure(figure, number),
    missing(key, parameter) {
      if (!strict) return parameter ?? key
      throw new Error(
        parameter === undefined
          ? `There is no text with the key "${key}".`
          : `The text "${key}" needs the parameter "${parameter}".`,
      )
    },
  }
  return (key, parameters = {}) => render(key, parameters, renderer)
}

/** Numbers of one language. @returns text of a number with fixed decimals, or with one where it is not whole. */
export function numbersIn(language: string): (value: number, decimals?: number) => string {
  const formats = new Map<number | undefined, Intl.NumberFormat>()
  return (value, decimals) => {
    let format = formats.get(decimals)
    if (format === undefined) {
      // One decimal is as much as anybody reads from a wall; whole numbers stay whole.
      const { least, most } = decimals === undefined ? { least: 0, most: 1 } : { least: decimals, most: decimals }
      format = new Intl.NumberFormat(language, {
        minimumFractionDigits: least,
        maximumFractionDigits: most,
        useGrouping: false,
      })
      formats.set(decimals, format)
    }
    return format.format(value)
  }
}

function metricFigure({ value, quantity, decimals }: Figure, number: ReturnType<typeof numbersIn>): string {
  const text = number(value, decimals).replace('-', '−')
  return quantity === undefined ? text : `${text} ${UNITS[quantity]}`
}

/** The names of the parameters that a text asks for. */
export const parametersOf = (text: string): string[] => [...text.matchAll(/\{(\w+)\}/g)].map((match) => match[1] ?? '')
