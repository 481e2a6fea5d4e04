/**
 * The daemon's own sentences (alarms, why a splice went as it did, the self-check) in this browser's language and units. It
 * sends them ready in the site's language and metric, and as key with parameters; only who reads otherwise loads the texts
 * and renders them here. What cannot be rendered stands as the daemon sent it.
 */
import type { AlarmView, UnwindView } from '../edge/api/messages.ts'
import { type Figure, type Renderer, render, type Texts, type Words } from '../edge/messages/render.ts'
import { currentDisplay } from './display.ts'
import { speaksAsSite, spokenLanguage } from './messages.ts'
import { formatNumber, formatQuantity, missingLength, speedAtMost } from './units.ts'

const files = import.meta.glob<{ default: Texts }>(['../edge/messages/*.json'])

let texts: Texts | undefined

/** To be called once the language is spoken. */
export const loadDaemonWords = async (): Promise<void> => {
  if (speaksAsSite() && currentDisplay().units === 'metric') return
  texts = (await files[`../edge/messages/${spokenLanguage()}.json`]?.())?.default
}

class NoSuchText extends Error {}

/** As the daemon: one decimal where a figure is not whole and nothing else is said. */
const usualDecimals = (value: number): number => (Number.isInteger(Math.round(value * 10) / 10) ? 0 : 1)

const figureText = ({ value, quantity, decimals, round }: Figure): string => {
  const shown = decimals ?? usualDecimals(value)
  if (quantity === undefined) return formatNumber(value, shown)
  if (currentDisplay().units === 'us') {
    if (quantity === 'speed' && round === 'down') return speedAtMost(value)
    if (quantity === 'length' && round === 'up') return missingLength(value)
  }
  return formatQuantity(value, quantity, shown)
}

const renderer: Renderer = {
  textOf: (key) => texts?.[key],
  number: (value) => formatNumber(value, usualDecimals(value)),
  figure: figureText,
  missing: (key, parameter) => {
    throw new NoSuchText(`${key} ${parameter ?? ''}`)
  },
}

const rendered = (key: string, { parameters = {} }: Words): string | undefined => {
  if (texts === undefined) return undefined
  try {
    return render(key, parameters, renderer)
  } catch (error) {
    // A daemon of another version, or a record that one wrote.
    if (error instanceof NoSuchText) return undefined
    throw error
  }
}

/** One or several sentences. */
export const inWords = ({ text, words }: { text: string; words?: Words | readonly Words[] }): string => {
  if (words === undefined) return text
  const sentences = (Array.isArray(words) ? (words as readonly Words[]) : [words as Words]).map((one) =>
    rendered(one.key, one),
  )
  return sentences.includes(undefined) ? text : sentences.join(' ')
}

/** Why nothing is known of an unwind; null where something is. */
export const reasonText = ({
  reason,
  reason_words: words,
}: Pick<UnwindView, 'reason' | 'reason_words'>): string | null =>
  reason === null ? null : inWords({ text: reason, ...(words !== null && { words }) })

type Said = Pick<AlarmView, 'text' | 'words' | 'short' | 'action'>

/** What is wrong, without what to do; empty where the two cannot be told apart. */
export const alarmWhat = ({ text, words, action }: Said): string => {
  const what = words && rendered(`${words.key}.what`, words)
  if (what !== undefined) return what
  return action !== undefined && action !== '' && text.endsWith(action) ? text.slice(0, -action.length).trim() : ''
}

/** What is wrong and what to do. */
export const alarmText = ({ text, words }: Said): string => {
  const what = words && rendered(`${words.key}.what`, words)
  const action = words && rendered(`${words.key}.action`, words)
  return what === undefined || action === undefined ? text : `${what} ${action}`
}

/** What is wrong in a few words; undefined where that is known in the site's language only. */
export const alarmShort = ({ short, words }: Pick<Said, 'short' | 'words'>): string | undefined => {
  const own = words && rendered(`${words.key}.short`, words)
  return own ?? (speaksAsSite() ? short : undefined)
}
