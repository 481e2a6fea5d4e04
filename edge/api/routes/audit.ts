/** Who did what: for engineers, as JSON and as a file for a spreadsheet. */
import { Type } from 'typebox'
import { AUDIT_RESULTS, type AuditFilter, type AuditLog, type KeptEntry } from '../../security/audit.ts'
import { PERSON_MAX_LENGTH } from '../../security/person.ts'
import type { ApiApp, RouteContext } from '../app.ts'
import type { AuditView } from '../messages-access.ts'
import { oneOf } from '../schema-parts.ts'
import { FAILURES } from '../schemas.ts'
import { AuditViewRef } from '../schemas-access.ts'
import { timeParameter } from '../time-parameter.ts'

const MOST = 1000
const MOST_IN_FILE = 100_000
const config = { role: 'engineer' } as const
const FILTER = {
  from: Type.Optional(Type.String({ description: 'Not before, ISO 8601 with a zone' })),
  to: Type.Optional(Type.String({ description: 'Not after, ISO 8601 with a zone' })),
  person: Type.Optional(Type.String({ maxLength: PERSON_MAX_LENGTH, description: 'Only what this person did' })),
  result: Type.Optional(oneOf(AUDIT_RESULTS)),
  about: Type.Optional(
    Type.String({ maxLength: 200, description: 'Only what was done to this unwind or person, by id or name' }),
  ),
}
const COLUMNS = ['id', 'time', 'person', 'from', 'action', 'subject', 'result', 'detail'] as const

export const auditRoutes = (app: ApiApp, { say }: RouteContext, log: AuditLog): void => {
  app.get(
    '/api/audit',
    {
      config,
      schema: {
        tags: ['audit'],
        summary: 'Who did what, newest first; entries are only added',
        querystring: Type.Object(
          {
            ...FILTER,
            before: Type.Optional(Type.Integer({ minimum: 1, description: 'Only entries with a smaller id' })),
            limit: Type.Integer({
              minimum: 1,
              maximum: MOST,
              default: 100,
              description: 'At most so many, the newest',
            }),
          },
          { additionalProperties: false },
        ),
        response: { 200: Type.Array(AuditViewRef), ...FAILURES },
      },
    },
    (request) => {
      const { before, limit } = request.query
      return log.entries({ ...filterOf(request.query), beforeId: before, limit }).map(viewOf)
    },
  )
  app.get(
    '/api/audit.csv',
    {
      config,
      schema: {
        tags: ['audit'],
        summary: `The same as CSV, at most the newest ${MOST_IN_FILE}`,
        querystring: Type.Object(FILTER, { additionalProperties: false }),
        response: { 200: { description: 'CSV', content: { 'text/csv': { schema: Type.String() } } }, ...FAILURES },
      },
    },
    async (request, reply) => {
      const entries = log.entries({ ...filterOf(request.query), limit: MOST_IN_FILE }).map(viewOf)
      const lines = entries.map((entry) => COLUMNS.map((column) => cell(String(entry[column]))).join(','))
      void reply.header('content-disposition', `attachment; filename="${say('access.audit.file')}.csv"`)
      return reply.type('text/csv; charset=utf-8').send(`${[COLUMNS.join(','), ...lines].join('\r\n')}\r\n`)
    },
  )
}

const filterOf = (query: {
  from?: string
  to?: string
  person?: string
  result?: KeptEntry['result']
  about?: string
}): Omit<AuditFilter, 'limit'> => ({
  fromTMs: timeParameter('from', query.from),
  toTMs: timeParameter('to', query.to),
  person: query.person,
  result: query.result,
  about: query.about,
})

const viewOf = ({ id, tMs, person, from, action, subject, result, detail }: KeptEntry): AuditView => ({
  id,
  time: new Date(tMs).toISOString(),
  person,
  from,
  action,
  subject,
  result,
  detail,
})

/** RFC 4180; what a spreadsheet would take for a formula is taken for text. */
const cell = (value: string): string => {
  const text = /^[=+\-@\t\r]/.test(value) ? `'${value}` : value
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text
}
