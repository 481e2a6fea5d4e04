/** What the API's JSON Schemas are made of. */

import { type Static, type TSchema, Type } from 'typebox'
import type { Words } from '../messages/render.ts'
import { PERSON_MAX_LENGTH } from '../security/person.ts'

export const oneOf = <T extends string>(values: readonly T[], description?: string) =>
  Type.Unsafe<T>({ type: 'string', enum: [...values], ...(description && { description }) })

export const nullable = <T extends string>(values: readonly T[], description?: string) =>
  Type.Unsafe<T | null>({ type: ['string', 'null'], enum: [...values, null], ...(description && { description }) })

export const number = (description: string) => Type.Number({ description })
export const text = (description: string) => Type.String({ description })
export const numberOrNull = (description: string) =>
  Type.Unsafe<number | null>({ type: ['number', 'null'], description: `${description}; null where unknown` })
export const textOrNull = (description: string) => Type.Unsafe<string | null>({ type: ['string', 'null'], description })
export const flagOrNull = (description: string) =>
  Type.Unsafe<boolean | null>({ type: ['boolean', 'null'], description })
export const time = (description: string) => Type.String({ format: 'date-time', description })
export const timeOrNull = (description: string) =>
  Type.Unsafe<string | null>({ type: ['string', 'null'], format: 'date-time', description })

export const orNull = <T extends TSchema>(schema: T, description: string) =>
  Type.Unsafe<Static<T> | null>({ anyOf: [schema, { type: 'null' }], description })

const WORDS = {
  type: 'object',
  properties: { key: { type: 'string' }, parameters: { type: 'object', additionalProperties: true } },
  required: ['key'],
  description: 'Key of the text with its parameters; a figure among them has a value in the units of the columns',
} as const
/** What a sentence says before language and units are chosen. */
export const words = Type.Unsafe<Words>(WORDS)
export const sentences = Type.Array(words, { description: 'The same before language and units are chosen' })

/** A schema by its `$id`: written once into the description, named in each place. */
export const named = <T extends TSchema>(schema: T) =>
  Type.Unsafe<Static<T>>({ $ref: `${(schema as { $id?: string }).$id}#` })

// The compiler refuses this where a schema and its interface differ in a field, a type or what may be null.
export type Same<A, B> = [keyof A, keyof B, A, B] extends [keyof B, keyof A, B, A] ? true : false
export type Holds<T extends true> = T

/** In bodies of commands. */
export const Person = Type.Optional(
  Type.String({ maxLength: PERSON_MAX_LENGTH, description: 'Who says so, where nobody signs in' }),
)
/** In addresses of one unwind. */
export const ByUnwind = Type.Object({ id: Type.String({ description: 'Id of the unwind' }) })
