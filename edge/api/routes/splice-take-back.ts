/** A person takes back what was said of a splice by mistake: an entry of its own, which leaves the other one where it is. */
import { Type } from 'typebox'
import { mayAct } from '../../security/roles.ts'
import { type EntryFields, SERVICE_OF, type SpliceEntry } from '../../splice-review.ts'
import { personOf } from '../access.ts'
import type { ApiApp, RouteContext } from '../app.ts'
import { enterBy } from '../enter.ts'
import { notFound, refused } from '../failures.ts'
import type { SpliceView } from '../messages.ts'
import { Person } from '../schema-parts.ts'
import { FAILURES, SpliceViewRef } from '../schemas.ts'
import { lastServiced } from '../serve.ts'
import { siteTime } from '../site-time.ts'
import { ById, spliceOf } from './splices.ts'

/** What an entry says that says nothing. */
export const SAYS_NOTHING: EntryFields = {
  outcome: null,
  cause: null,
  thing: null,
  done: [],
  note: null,
  good_product: null,
  early_reason: null,
  rest: null,
  amounts: [],
  gap: null,
}

/** An entry is named by its time: of two in one millisecond the later one gets the next. */
export function timeOfEntry(splice: SpliceView | undefined, nowMs: number): string {
  const taken = new Set(splice?.review?.entries.map(({ time }) => Date.parse(time)))
  let tMs = nowMs
  while (taken.has(tMs)) tMs += 1
  return new Date(tMs).toISOString()
}

export const spliceTakeBackRoutes = (app: ApiApp, context: RouteContext): void => {
  const { daemon, clock, audit, say } = context
  const enter = enterBy(context)
  app.post(
    '/api/splices/:id/entries/take-back',
    {
      config: { role: 'operator' },
      schema: {
        tags: ['splices'],
        summary:
          'A person takes back an entry of their own, an engineer anybody’s: it stays, and counts as never said, also for what was done',
        params: ById,
        body: Type.Object(
          { entry: Type.String({ maxLength: 40, description: 'Which one, by its time' }), person: Person },
          { additionalProperties: false },
        ),
        response: { 200: SpliceViewRef, ...FAILURES },
      },
    },
    (request) => {
      const splice = spliceOf(daemon, request.params.id)
      const { entry: wanted, person: named } = request.body
      const entry = splice.review?.entries.find(({ time }) => time === wanted)
      if (entry === undefined) throw notFound('entry', wanted, 'take_time', { route: `/api/splices/${splice.id}` })
      const person = personOf(request, named)
      const { time_zone: zone } = daemon.health()
      if (entry.takes_back !== null) throw refused(say, 409, 'not_possible', 'entry.takes_back')
      if (entry.taken_back !== null) {
        const { person: by, time } = entry.taken_back
        throw refused(say, 409, 'not_possible', 'entry.taken_back', {
          person: by,
          time: siteTime(Date.parse(time), zone),
        })
      }
      if (entry.person !== person && !mayAct(request.role, 'engineer')) {
        throw refused(say, 403, 'not_allowed', 'entry.not_own', { person: entry.person })
      }
      const nowMs = clock.nowMs()
      const time = timeOfEntry(splice, nowMs)
      const back: SpliceEntry = { ...SAYS_NOTHING, time, person, by_hand: false, takes_back: entry.time }
      const revised = daemon.addEntry(splice.id, back)
      audit.record({
        tMs: nowMs,
        person,
        from: request.ip,
        action: 'splice-entry-taken-back',
        subject: splice.id,
        result: 'done',
        detail: `${entry.person}; ${entry.time}`,
      })
      // Knife, tape and filter go on counting where they were, if it was this entry that began them anew.
      for (const item of entry.done.flatMap((one) => SERVICE_OF[one] ?? [])) {
        const { unwind } = splice
        if (lastServiced(context, unwind, item) === undefined) continue
        enter({ kind: 'service_taken_back', unwind, item, time: entry.time, person }, request.ip, item)
      }
      return revised
    },
  )
}
