/**
 * Checks what comes in. A query or path is text, so numbers and booleans are read out of it; a JSON body has types of its own
 * and is taken as it is (`null` must not become `false`). What a route does not know is refused: a misspelt filter that is
 * ignored shows the wrong splices.
 */
import { Ajv, type ErrorObject } from 'ajv'
import type { FastifyInstance } from 'fastify'
import { failureOf } from './failures.ts'
import { faultWords, otherWords } from './sentences.ts'

const OPTIONS = { useDefaults: true, allErrors: false, verbose: true, strict: false, validateFormats: false } as const

export const validateInput = (app: FastifyInstance): void => {
  const ofText = new Ajv({ ...OPTIONS, coerceTypes: true })
  const ofJson = new Ajv(OPTIONS)
  app.setValidatorCompiler<{ properties?: object }>(({ schema, httpPart = 'body' }) => {
    const check = (httpPart === 'body' ? ofJson : ofText).compile<unknown>(schema)
    const known = Object.keys(schema.properties ?? {})
    return (data: unknown) => {
      if (check(data)) return { value: data }
      const [fault] = check.errors as ErrorObject[]
      const words = fault === undefined ? otherWords('request') : faultWords(fault, httpPart, known)
      return { error: failureOf(400, 'wrong_parameter', words) }
    }
  })
}
