/** What the API answers when it can't do what was asked: `{error, code}`, one sentence and one word for programs. */
import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify'
import { reasonOf } from '../errors.ts'
import { createMessages, type Messages } from '../messages/message.ts'
import type { Parameters, Words } from '../messages/render.ts'
import type { ApiLog } from './app.ts'
import { absentWords, otherWords, parameterWords, shown } from './sentences.ts'

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

/** In English until it is answered: then in the site's language, and with the words for the browser's. */
const english = createMessages('en')
export const failureOf = (statusCode: number, code: FailureCode, words: Words): Failure =>
  new Failure(statusCode, code, english(words.key, words.parameters), words)

/** @param rest - end of the key `refusal.…` whose text goes on after "The parameter NAME". */
export const wrongParameter = (name: string, rest: string, parameters: Parameters = {}): Failure =>
  failureOf(400, 'wrong_parameter', parameterWords(name, rest, parameters))

/** @param what - end of the key `refusal.none.…`. @param remedy - of `refusal.remedy.…`. */
export const notFound = (what: string, id: string, remedy: string, parameters: Parameters = {}): Failure =>
  failureOf(404, 'not_found', absentWords(what, id, remedy, parameters))

/** What the framework refuses before a route sees it, by its code: the end of a key `refusal.…`. */
const REFUSALS: Readonly<Record<string, readonly [FailureCode, string]>> = {
  FST_ERR_CTP_INVALID_MEDIA_TYPE: ['wrong_parameter', 'media_type'],
  FST_ERR_CTP_EMPTY_JSON_BODY: ['wrong_parameter', 'empty_body'],
  FST_ERR_CTP_INVALID_JSON_BODY: ['wrong_parameter', 'no_json'],
  FST_ERR_CTP_BODY_TOO_LARGE: ['wrong_parameter', 'large_body'],
  FST_ERR_CTP_INVALID_CONTENT_LENGTH: ['wrong_parameter', 'body_length'],
  FST_ERR_BAD_URL: ['wrong_parameter', 'bad_url'],
  FST_ERR_MAX_PARAM_LENGTH: ['not_found', 'long_id'],
}

/** Answers a thrown error; only what is our own fault goes into the log. */
export const answerError = (
  thrown: unknown,
  request: FastifyRequest,
  reply: FastifyReply,
  { log, say }: { log: ApiLog; say: Messages },
): void => {
  const answer = ({ statusCode: status, code: word, message, words }: Failure): void =>
    void reply.code(status).send({
      error: words === undefined ? message : say(words.key, words.parameters),
      code: word,
      ...(words !== undefined && { words }),
    })
  const { statusCode, code } = thrown as { statusCode?: number; code?: string }
  if (thrown instanceof Failure) {
    answer(thrown)
    return
  }
  const refusal = REFUSALS[code ?? '']
  if (refusal !== undefined) {
    answer(failureOf(statusCode ?? 400, refusal[0], otherWords(refusal[1])))
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
  answer(failureOf(500, 'internal', otherWords('internal')))
}

export const answerFailures = (app: FastifyInstance, ports: { log: ApiLog; say: Messages }): void => {
  app.setErrorHandler((thrown, request, reply) => answerError(thrown, request, reply, ports))
  app.setNotFoundHandler((request, reply) => {
    const words = otherWords('nothing_at', { method: request.method, path: shown(request.url.split('?')[0]) })
    answerError(failureOf(404, 'not_found', words), request, reply, ports)
  })
}
