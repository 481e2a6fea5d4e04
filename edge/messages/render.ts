/**
 * What a sentence says, before a language and units are chosen: the key of a text with its parameters. The daemon renders it
 * once for whoever reads along (CSV, log, other programs), each browser renders it again as its reader chose. Pure.
 */

/** Text by key, of one language. */
export type Texts = Readonly<Record<string, string>>

/** Measured in the contract's units: length m, diameter mm, thickness µm, speed m/min, force N. */
export type FigureQuantity = 'length' | 'diameter' | 'thickness' | 'speed' | 'force'

/** A number with what it measures; its unit stands in no text, for the reader chooses it. */
export interface Figure {
  readonly value: number
  /** Left out: a bare number, whose unit (s, %) is the same for everybody and stands in the text. */
  readonly quantity?: FigureQuantity
  /** Fixed decimals of the metric figure; left out: one where it is not whole. */
  readonly decimals?: number
  /** Which way the text may err when the figure is rounded: a limit down, a lack up. */
  readonly round?: 'up' | 'down'
}

/** The key of a text with what is filled in. */
export interface Words {
  readonly key: string
  readonly parameters?: Parameters
}

/** Several, the last one joined by the words of `by` ("{list} and {last}"). */
export interface Listing {
  readonly list: readonly Parameter[]
  readonly by: string
}

/** A number, ready text, a number with its unit, another text, or several. */
export type Parameter = number | string | Figure | Words | Listing
export type Parameters = Readonly<Record<string, Parameter>>

export interface Renderer {
  /** Undefined where there is no such text. */
  textOf: (key: string) => string | undefined
  number: (value: number) => string
  figure: (figure: Figure) => string
  /** What stands in the place of a text or parameter that is missing. */
  missing: (key: string, parameter?: string) => string
}

/** Never throws by itself: a wrong text is better than none, unless `missing` says otherwise. */
export function render(key: string, parameters: Parameters, renderer: Renderer): string {
  const text = renderer.textOf(key)
  if (text === undefined) return renderer.missing(key)
  return text.replace(/\{(\w+)\}/g, (_, name: string) => {
    const parameter = parameters[name]
    return parameter === undefined ? renderer.missing(key, name) : renderParameter(parameter, renderer)
  })
}

function renderParameter(parameter: Parameter, renderer: Renderer): string {
  if (typeof parameter === 'string') return parameter
  if (typeof parameter === 'number') return renderer.number(parameter)
  if ('value' in parameter) return renderer.figure(parameter)
  if ('key' in parameter) return render(parameter.key, parameter.parameters ?? {}, renderer)
  const texts = parameter.list.map((one) => renderParameter(one, renderer))
  if (texts.length < 2) return texts.join('')
  return render(parameter.by, { list: texts.slice(0, -1).join(', '), last: texts.at(-1)! }, renderer)
}

/** Whether two parameters say the same. */
export const isSame = (one: unknown, other: unknown): boolean => {
  if (one === other) return true
  if (typeof one !== 'object' || typeof other !== 'object' || one === null || other === null) return false
  const names = Object.keys(one)
  return (
    names.length === Object.keys(other).length &&
    names.every((name) => isSame((one as Record<string, unknown>)[name], (other as Record<string, unknown>)[name]))
  )
}

/** A bare number to so many significant figures, without zeros at its end. */
export const bare = (value: number, significant: number): Figure => {
  const text = String(Number(value.toPrecision(significant)))
  return { value: Number(text), decimals: text.split('.')[1]?.length ?? 0 }
}
export const lengthM = (value: number, more: Omit<Figure, 'value' | 'quantity'> = {}): Figure => ({
  value,
  quantity: 'length',
  ...more,
})
export const diameterMm = (value: number, decimals?: number): Figure => ({
  value,
  quantity: 'diameter',
  ...(decimals !== undefined && { decimals }),
})
/** A highest speed: never rounded up. */
export const speedAtMostMpm = (value: number): Figure => ({ value, quantity: 'speed', round: 'down' })
