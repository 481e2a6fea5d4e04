/**
 * Checks what comes in. A query or path is text, so numbers and booleans are read out of it; a JSON body has types of its own
 * and is taken as it is (`null` must not become `false`). What a route does not know is refused: a misspelt filter that is
 * ignored shows the wrong splices.
 */
import { Ajv, type ErrorObject } from 'ajv'
import type { FastifyInstance } from 'fastify'
import { sentenceOf } from './failures.ts'

const OPTIONS = { useDefaults: true, allErrors: false, strict: false, validateFormats: false } as const

export const validateInput = (app: FastifyInstance): void => {
  const ofText = new Ajv({ ...OPTIONS, coerceTypes: true })
  const ofJson = new Ajv(OPTIONS)
  app.setValidatorCompiler<{ properties?: object }>(({ schema, httpPart = 'body' }) => {
    const check = (httpPart === 'body' ? ofJson : ofText).compile<unknown>(schema)
    const known = Object.keys(schema.properties ?? {})
    return (data: unknown) => {
      if (check(data)) return { value: data }
      const [fault] = check.errors as ErrorObject[]
      return {
        error: new Error(fault === undefined ? 'The request does not fit.' : sentenceOf(fault, httpPart, known)),
      }
    }
  })
  // The sentence is already whole; the framework would put its own words before it.
  app.setSchemaErrorFormatter((errors) => new Error(errors[0]?.message ?? 'The request does not fit.'))
}
