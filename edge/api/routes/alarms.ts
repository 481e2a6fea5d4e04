/** Alarms, newest first, and their acknowledgement by a person. */
import { Type } from 'typebox'
import { LONGEST_SHELF_S } from '../../alarms/enter.ts'
import { ALARM_IDS } from '../../columns.ts'
import { personOf } from '../access.ts'
import type { ApiApp, RouteContext } from '../app.ts'
import { enterBy } from '../enter.ts'
import { notFound } from '../failures.ts'
import type { AlarmView, DaemonPort } from '../messages.ts'
import { Person } from '../schema-parts.ts'
import { AlarmViewRef, DoneView, FAILURES } from '../schemas.ts'
import { refuseUnknownUnwind } from './splices.ts'

const MOST = 1000
const COMMENT_MAX_LENGTH = 500
const ID = new RegExp(`^(.*)-(${ALARM_IDS.join('|')})-\\d+$`)

export const alarmRoutes = (app: ApiApp, context: RouteContext): void => {
  const { daemon } = context
  const enter = enterBy(context)
  app.get(
    '/api/alarms',
    {
      config: { role: 'viewer' },
      schema: {
        tags: ['alarms'],
        summary: 'Alarms, newest first',
        querystring: Type.Object(
          {
            unwind: Type.Optional(Type.String({ description: 'Only this unwind' })),
            standing: Type.Optional(
              Type.Boolean({ description: 'true: only what stands or nobody has acknowledged', default: false }),
            ),
            limit: Type.Integer({
              minimum: 1,
              maximum: MOST,
              default: 200,
              description: 'At most so many, the newest',
            }),
          },
          { additionalProperties: false },
        ),
        response: { 200: Type.Array(AlarmViewRef), ...FAILURES },
      },
    },
    (request) => {
      const { unwind, standing, limit } = request.query
      if (unwind !== undefined) refuseUnknownUnwind(daemon, unwind)
      return daemon.alarms({ unwind, standing, limit })
    },
  )
  app.post(
    '/api/alarms/:id/acknowledge',
    {
      config: { role: 'operator' },
      schema: {
        tags: ['alarms'],
        summary: 'A person has seen the alarm; acknowledging twice changes nothing',
        params: Type.Object({ id: Type.String({ description: "The alarm's id" }) }),
        body: Type.Object(
          {
            comment: Type.Optional(Type.String({ maxLength: COMMENT_MAX_LENGTH })),
            person: Person,
          },
          { additionalProperties: false },
        ),
        response: { 200: DoneView, ...FAILURES },
      },
    },
    (request) => {
      const { comment = '', person: named } = request.body
      const person = personOf(request, named)
      const view = alarmOf(daemon, request.params.id)
      // Two people tap, or one taps twice with gloves on: the first counts.
      if (view.acknowledged !== null && comment === '')
        return { done: true as const, person: view.acknowledged_by ?? person }
      const { unwind, alarm, id } = view
      enter({ kind: 'acknowledge', unwind, alarm, person, comment }, request.ip, comment, id)
      return { done: true as const, person: view.acknowledged_by ?? person }
    },
  )
  app.get(
    '/api/alarms/aside',
    {
      config: { role: 'viewer' },
      schema: {
        tags: ['alarms'],
        summary: 'Alarms that would stand now, were they not suppressed by design or put aside by a person',
        response: { 200: Type.Array(AlarmViewRef), ...FAILURES },
      },
    },
    () => daemon.alarmsAside(),
  )
  app.post(
    '/api/alarms/:id/shelve',
    {
      config: { role: 'operator' },
      schema: {
        tags: ['alarms'],
        summary: 'A person puts an alarm that stands aside for a while, or ends that',
        params: Type.Object({ id: Type.String({ description: "The alarm's id" }) }),
        body: Type.Object(
          {
            seconds: Type.Integer({
              minimum: 0,
              maximum: LONGEST_SHELF_S,
              description: 'For how long, s; 0 ends it. At most a shift',
            }),
            person: Person,
          },
          { additionalProperties: false },
        ),
        response: { 200: DoneView, ...FAILURES },
      },
    },
    (request) => {
      const { seconds, person: named } = request.body
      const person = personOf(request, named)
      const { unwind, alarm, id } = alarmOf(daemon, request.params.id)
      return enter({ kind: 'shelve', unwind, alarm, seconds, person }, request.ip, `${seconds} s`, id)
    },
  )
}

/** Looks among what stands first: only that can be acknowledged, and it is a short list. */
const alarmOf = (daemon: DaemonPort, id: string): AlarmView => {
  const [, unwind] = ID.exec(id) ?? []
  const within = unwind === undefined || unwind === '' ? {} : { unwind }
  const view =
    daemon.alarms({ ...within, standing: true, limit: MOST }).find((alarm) => alarm.id === id) ??
    daemon.alarms({ ...within, limit: MOST }).find((alarm) => alarm.id === id)
  if (view === undefined) throw notFound('alarm', id, 'take_id', { route: '/api/alarms' })
  return view
}
