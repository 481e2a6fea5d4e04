/** What the API answers when it can't do what was asked: `{error, code}`, one sentence and one word for programs. */
import type { ErrorObject } from 'ajv'
import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify'
import { reasonOf } from '../errors.ts'
import type { Messages } from '../messages/message.ts'
import type { Parameters, Words } from '../messages/render.ts'
import type { ApiLog } from './app.ts'

export type FailureCode =
  | 'wrong_parameter'
  | 'not_found'
  | 'not_possible' // the daemon understands and says why it can't be done now
  | 'no_label' // a scanned code that is no roll's label: sent again with `as_roll_id` it is the number
  | 'sign_in_needed'
  | 'sign_in_refused'
  | 'not_allowed'
  | 'too_many'
  | 'not_ready'
  | 'internal'

export class Failure extends Error {
  readonly statusCode: number
  readonly code: FailureCode
  /** The message before a language was chosen, where it has one. */
  readonly words: Words | undefined

  constructor(statusCode: number, code: FailureCode, message: string, words?: Words) {
    super(message)
    this.name = 'Failure'
    this.statusCode = statusCode
    this.code = code
    this.words = words
  }
}

/** A refusal that each browser says in its reader's language. */
export const refused = (
  say: Messages,
  statusCode: number,
  code: FailureCode,
  key: string,
  parameters: Parameters = {},
): Failure => new Failure(statusCode, code, say(key, parameters), { key, parameters })

export const wrongParameter = (name: string, message: string): Failure =>
  new Failure(400, 'wrong_parameter', `The parameter ${name} ${message}`)

export const notFound = (what: string, id: string, remedy: string): Failure =>
  new Failure(404, 'not_found', `There is no ${what} ${shown(id)}: ${remedy}`)

/** What somebody sent, short enough for a sentence and without line breaks. */
export const shown = (value: unknown): string => {
  const text = String(typeof value === 'object' ? JSON.stringify(value) : value).replace(/[\p{Cc}\p{Cf}]/gu, '?')
  return `"${text.length > 60 ? `${text.slice(0, 60)}…` : text}"`
}

const PART: Readonly<Record<string, string>> = {
  body: 'body',
  querystring: 'query',
  params: 'address',
  headers: 'headers',
}

/** One sentence about the first fault that the schema found: which parameter, and what would do. */
export const sentenceOf = (fault: ErrorObject, httpPart: string, known: readonly string[]): string => {
  const part = PART[httpPart] ?? httpPart
  const name = fault.instancePath.slice(1).replaceAll('/', '.')
  const subject = name === '' ? `The ${part}` : `The parameter ${name}`
  const params = fault.params as Record<string, unknown>
  switch (fault.keyword) {
    case 'additionalProperties':
      return `The parameter ${shown(params['additionalProperty'])} is not known here: ${known.length === 0 ? 'leave it out' : `use ${known.join(', ')}`}.`
    case 'required':
      return `The parameter ${String(params['missingProperty'])} is missing in the ${part}.`
    case 'enum':
      return `${subject} has to be one of ${(params['allowedValues'] as unknown[]).join(', ')}.`
    case 'type':
      return `${subject} has to be ${ARTICLE[String(params['type'])] ?? String(params['type'])}.`
    case 'minimum':
      return `${subject} has to be at least ${String(params['limit'])}.`
    case 'maximum':
      return `${subject} has to be at most ${String(params['limit'])}.`
    case 'maxLength':
      return `${subject} has to have at most ${String(params['limit'])} characters.`
    case 'minLength':
      return `${subject} has to have at least ${String(params['limit'])} characters.`
    default:
      return `${subject} ${fault.message ?? 'does not fit'}.`
  }
}

const ARTICLE: Readonly<Record<string, string>> = {
  string: 'one text',
  integer: 'a whole number',
  number: 'a number',
  boolean: 'true or false',
  object: 'a JSON object',
}

/** Sentences for what the framework refuses before a route sees it, by its code. */
const REFUSALS: Readonly<Record<string, readonly [FailureCode, string]>> = {
  FST_ERR_CTP_INVALID_MEDIA_TYPE: [
    'wrong_parameter',
    'Commands are sent as JSON: set the header Content-Type to application/json.',
  ],
  FST_ERR_CTP_EMPTY_JSON_BODY: [
    'wrong_parameter',
    'The body is empty: send a JSON object, {} where nothing is to be said.',
  ],
  FST_ERR_CTP_INVALID_JSON_BODY: ['wrong_parameter', 'The body is no JSON: send a JSON object.'],
  FST_ERR_CTP_BODY_TOO_LARGE: ['wrong_parameter', 'The body is too large: 64 kB are the most.'],
  FST_ERR_CTP_INVALID_CONTENT_LENGTH: [
    'wrong_parameter',
    'The length of the body differs from the header Content-Length.',
  ],
  FST_ERR_BAD_URL: [
    'wrong_parameter',
    'The address of the page holds a % that is followed by no two hexadecimal digits.',
  ],
  FST_ERR_MAX_PARAM_LENGTH: ['not_found', 'An id in the address of the page is too long: there is none like that.'],
}

/** Answers a thrown error; only what is our own fault goes into the log. */
export const answerError = (thrown: unknown, request: FastifyRequest, reply: FastifyReply, log: ApiLog): void => {
  const { statusCode, code, validation } = thrown as { statusCode?: number; code?: string; validation?: unknown }
  if (thrown instanceof Failure) {
    void reply.code(thrown.statusCode).send({
      error: thrown.message,
      code: thrown.code,
      ...(thrown.words !== undefined && { words: thrown.words }),
    })
    return
  }
  if (validation !== undefined) {
    void reply.code(400).send({ error: reasonOf(thrown), code: 'wrong_parameter' })
    return
  }
  const refusal = REFUSALS[code ?? '']
  if (refusal !== undefined) {
    void reply.code(statusCode ?? 400).send({ error: refusal[1], code: refusal[0] })
    return
  }
  if (statusCode !== undefined && statusCode >= 400 && statusCode < 500) {
    void reply
      .code(statusCode)
      .send({ error: reasonOf(thrown), code: statusCode === 404 ? 'not_found' : 'wrong_parameter' })
    return
  }
  log.error(
    {
      reason: reasonOf(thrown),
      stack: thrown instanceof Error ? thrown.stack : undefined,
      method: request.method,
      route: request.routeOptions?.url,
    },
    'a request failed',
  )
  void reply.code(500).send({ error: 'The daemon failed to answer this request: its log says why.', code: 'internal' })
}

export const answerFailures = (app: FastifyInstance, log: ApiLog): void => {
  app.setErrorHandler((thrown, request, reply) => answerError(thrown, request, reply, log))
  app.setNotFoundHandler((request, reply) => {
    void reply.code(404).send({
      error: `There is nothing at ${request.method} ${shown(request.url.split('?')[0])}: /api/openapi.json lists what there is.`,
      code: 'not_found',
    })
  })
}
