/** The few shapes of which `schema.ts` is made. Each takes its description first, so that no key goes without one. */
import Type from 'typebox'
import type { Measured } from '../signals/units.ts'

interface Notes {
  title?: string
  description?: string
  default?: unknown
  examples?: unknown[]
}

export const section = <P extends Type.TProperties>(properties: P, notes: Notes = {}) =>
  Type.Object(properties, { additionalProperties: false, ...notes })

export const optional = Type.Optional
export const text = (description: string, notes: Notes & { pattern?: string; format?: string } = {}) =>
  Type.String({ minLength: 1, description, ...notes })
export const choice = <const V extends string[]>(values: V, description: string, notes: Notes = {}) =>
  Type.Unsafe<V[number]>({ enum: values, description, ...notes })
export const quantity = (measured: Measured, description: string, example: string, notes: Notes = {}) =>
  Type.String({ 'x-dimension': measured, description, examples: [example], ...notes })
/** A quantity with a default, which serves as the example too. */
export const quantityOr = (measured: Measured, fallback: string, description: string, example = fallback) =>
  optional(quantity(measured, description, example, { default: fallback }))
