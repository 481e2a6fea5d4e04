/** What is wrong with a request, as words that each reader's language fills in. Pure. */
import type { ErrorObject } from 'ajv'
import type { Parameter, Parameters, Words } from '../messages/render.ts'

const words = (key: string, parameters: Parameters = {}): Words => ({ key: `refusal.${key}`, parameters })

/** What somebody sent, short enough for a sentence and without line breaks. */
export const shown = (value: unknown): string => {
  const text = String(typeof value === 'object' ? JSON.stringify(value) : value).replace(/[\p{Cc}\p{Cf}]/gu, '?')
  return `"${text.length > 60 ? `${text.slice(0, 60)}…` : text}"`
}

/** @param rest - end of the key whose text goes on after "The parameter NAME". */
export const parameterWords = (name: string, rest: string, parameters: Parameters = {}): Words =>
  words('parameter', { name, rest: words(rest, parameters) })

/** @param what - `unwind`, `splice`, `alarm`, …: the end of a key. @param remedy - likewise. */
export const absentWords = (what: string, id: string, remedy: string, parameters: Parameters = {}): Words =>
  words(`none.${what}`, { id: shown(id), remedy: words(`remedy.${remedy}`, parameters) })

export const otherWords = words

const PARTS: ReadonlySet<string> = new Set(['body', 'querystring', 'params', 'headers'])
const TYPES: ReadonlySet<string> = new Set(['string', 'integer', 'number', 'boolean', 'object'])

/** About the first fault that the schema found: which parameter, and what would do, with the unit that the schema states. */
export const faultWords = (fault: ErrorObject, httpPart: string, known: readonly string[]): Words => {
  const part: Parameter = PARTS.has(httpPart) ? words(`part.${httpPart}`) : httpPart
  const name = fault.instancePath.slice(1).replaceAll('/', '.')
  const subject = name === '' ? words('the_part', { part }) : words('the_parameter', { name })
  const params = fault.params as Record<string, unknown>
  const unit = (fault.parentSchema as { 'x-unit'?: string } | undefined)?.['x-unit']
  const limit = `${String(params['limit'])}${unit === undefined ? '' : ` ${unit}`}`
  switch (fault.keyword) {
    case 'additionalProperties': {
      const unknown = shown(params['additionalProperty'])
      return known.length === 0
        ? words('unknown.none', { name: unknown })
        : words('unknown', { name: unknown, known: known.join(', ') })
    }
    case 'required':
      return words('missing', { name: String(params['missingProperty']), part })
    case 'enum':
      return words('enum', { subject, values: (params['allowedValues'] as unknown[]).join(', ') })
    case 'type': {
      const type = String(params['type'])
      return words('type', { subject, type: TYPES.has(type) ? words(`type.${type}`) : type })
    }
    case 'minimum':
    case 'maximum':
    case 'maxLength':
    case 'minLength':
      return words(fault.keyword, { subject, limit })
    default:
      return words('misfit', { subject, reason: fault.message ?? '' })
  }
}
