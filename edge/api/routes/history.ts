/** Forecasts and signals as they were, reduced to what a chart can show without leaving out a peak. */
import { Type } from 'typebox'
import type { ApiApp, RouteContext } from '../app.ts'
import { wrongParameter } from '../failures.ts'
import { FAILURES } from '../schemas.ts'
import { HistoryViewRef } from '../schemas-history.ts'
import { shown } from '../sentences.ts'
import { timeParameter } from '../time-parameter.ts'
import { unwindOf } from './unwinds.ts'

const MOST_POINTS = 2000
const MOST_COLUMNS = 8
/** A look back, ms. */
const DEFAULT_MS = 3 * 3_600_000
/** Beyond what any site keeps, ms. */
const LONGEST_MS = 800 * 86_400_000

export const historyRoutes = (app: ApiApp, { daemon, clock }: RouteContext): void => {
  app.get(
    '/api/unwinds/:id/history',
    {
      config: { role: 'viewer' },
      schema: {
        tags: ['history'],
        summary: 'Columns of the forecast and signals as they were: least and greatest value of each span of time',
        params: Type.Object({ id: Type.String({ description: 'Id of the unwind' }) }),
        querystring: Type.Object(
          {
            columns: Type.String({
              maxLength: 400,
              description: `Names of forecast columns or signals, separated by commas; at most ${MOST_COLUMNS}`,
            }),
            from: Type.Optional(
              Type.String({ description: 'ISO 8601 with a zone; three hours before `to` by default' }),
            ),
            to: Type.Optional(Type.String({ description: 'ISO 8601 with a zone; now by default' })),
            points: Type.Integer({
              minimum: 1,
              maximum: MOST_POINTS,
              default: 600,
              description: 'At most so many spans',
            }),
          },
          { additionalProperties: false },
        ),
        response: { 200: HistoryViewRef, ...FAILURES },
      },
    },
    async (request) => {
      const { unwind } = unwindOf(daemon, request.params.id)
      const { points, from, to } = request.query
      const columns = [...new Set(request.query.columns.split(',').map((name) => name.trim()))]
      const toTMs = timeParameter('to', to) ?? clock.nowMs()
      const fromTMs = timeParameter('from', from) ?? toTMs - DEFAULT_MS
      if (fromTMs >= toTMs) throw wrongParameter('from', 'not_before')
      if (toTMs - fromTMs > LONGEST_MS) throw wrongParameter('from', 'too_long')
      if (columns.length > MOST_COLUMNS) throw wrongParameter('columns', 'too_many', { most: MOST_COLUMNS })
      const unknown = columns.find((name) => !daemon.hasColumn(unwind, name))
      if (unknown !== undefined) {
        throw wrongParameter('columns', 'no_column', { value: shown(unknown), unwind })
      }
      let isGone = false
      request.raw.socket?.once('close', () => {
        isGone = true
      })
      const view = await daemon.history({ unwind, fromTMs, toTMs, columns, points, isCancelled: () => isGone })
      return (
        view ?? {
          unwind,
          from: new Date(fromTMs).toISOString(),
          to: new Date(toTMs).toISOString(),
          span_seconds: 0,
          time: [],
          columns: [],
        }
      )
    },
  )
}
