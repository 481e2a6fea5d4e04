/** What people add to a splice, and splices that no signal saw. Append-only: nothing is overwritten. */
import { type Static, Type } from 'typebox'
import type { Messages } from '../../messages/message.ts'
import { type EntryFields, isTakenBack, SERVICE_OF, type SpliceEntry } from '../../splice-review.ts'
import { personOf } from '../access.ts'
import type { ApiApp, RouteContext } from '../app.ts'
import { failureOf, refused, wrongParameter } from '../failures.ts'
import type { SpliceView } from '../messages.ts'
import { Person } from '../schema-parts.ts'
import { FAILURES, SpliceViewRef } from '../schemas.ts'
import { EntryBody } from '../schemas-review.ts'
import { otherWords } from '../sentences.ts'
import { lastServiced, serveBy } from '../serve.ts'
import { siteTime } from '../site-time.ts'
import { timeParameter } from '../time-parameter.ts'
import { timeOfEntry } from './splice-take-back.ts'
import { ById, refuseUnknownUnwind, spliceOf } from './splices.ts'

const Entry = Type.Object({ ...EntryBody, person: Person }, { additionalProperties: false })
const ByHand = Type.Object(
  {
    ...EntryBody,
    person: Person,
    unwind: Type.String({ description: 'Where it was' }),
    started: Type.String({ description: 'When: ISO 8601 with a zone, or ms since 1970 UTC' }),
  },
  { additionalProperties: false },
)

/** A splice so near to another of the same unwind is that one, ms. */
const SAME_WITHIN_MS = 60_000
/** More than come so near to each other, also where one was entered and taken back again and again. */
const MOST_NEAR = 20
/** Clocks of people run ahead by so much at most, ms. */
const AHEAD_MS = 60_000

/** What was done about a splice of longer ago was not done just now: it stays in its record alone, ms. */
const SERVICED_WITHIN_MS = 86_400_000

export const spliceEntryRoutes = (app: ApiApp, context: RouteContext): void => {
  const { daemon, clock, audit, say } = context
  const serve = serveBy(context)
  app.post(
    '/api/splices/:id/entries',
    {
      config: { role: 'operator' },
      schema: {
        tags: ['splices'],
        summary: 'A person adds to a splice: another verdict, a cause, what was done, a note, what became of the web',
        params: ById,
        body: Entry,
        response: { 200: SpliceViewRef, ...FAILURES },
      },
    },
    (request) => {
      const splice = spliceOf(daemon, request.params.id)
      const fields = fieldsOf(request.body, clock.nowMs(), splice, say)
      if (isEmpty(fields)) {
        throw failureOf(400, 'wrong_parameter', otherWords('says_nothing'))
      }
      const person = personOf(request, request.body.person)
      const entry: SpliceEntry = {
        ...fields,
        time: timeOfEntry(splice, clock.nowMs()),
        person,
        by_hand: false,
        takes_back: null,
      }
      const revised = daemon.addEntry(splice.id, entry)
      record(request.ip, 'splice-entry', splice.id, entry)
      countServices(request.ip, splice, entry)
      return revised
    },
  )
  app.post(
    '/api/splices',
    {
      config: { role: 'operator' },
      schema: {
        tags: ['splices'],
        summary: 'A person enters a splice that no signal saw',
        body: ByHand,
        response: { 200: SpliceViewRef, ...FAILURES },
      },
    },
    (request) => {
      const { unwind, started, outcome } = request.body
      refuseUnknownUnwind(daemon, unwind)
      const nowMs = clock.nowMs()
      const startedTMs = timeParameter('started', started)!
      if (startedTMs > nowMs + AHEAD_MS) throw wrongParameter('started', 'ahead')
      if (outcome === undefined) throw wrongParameter('outcome', 'no_outcome')
      const around = daemon.splices({
        unwind,
        fromTMs: startedTMs - SAME_WITHIN_MS,
        toTMs: startedTMs + SAME_WITHIN_MS,
        limit: MOST_NEAR,
      })
      const near = around.find((splice) => !isTakenBack(splice))
      if (near !== undefined) {
        throw refused(say, 409, 'not_possible', 'entry.time_taken', {
          unwind: daemon.unwinds().find((view) => view.unwind === unwind)?.name ?? unwind,
          time: siteTime(Date.parse(near.started), daemon.health().time_zone),
        })
      }
      const person = personOf(request, request.body.person)
      const fields = fieldsOf(request.body, nowMs, undefined, say)
      const time = timeOfEntry(
        around.find((splice) => Date.parse(splice.started) === startedTMs),
        nowMs,
      )
      const entry: SpliceEntry = { ...fields, time, person, by_hand: true, takes_back: null }
      const made = daemon.addSplice(unwind, startedTMs, entry)
      record(request.ip, 'splice-by-hand', made.id, entry)
      countServices(request.ip, made, entry)
      return made
    },
  )

  /** Knife, tape and filter begin their counts anew, in the same name. */
  const countServices = (from: string, { unwind, started }: SpliceView, { done, person, time }: SpliceEntry): void => {
    if (clock.nowMs() - Date.parse(started) > SERVICED_WITHIN_MS) return
    for (const item of done.flatMap((one) => SERVICE_OF[one] ?? [])) {
      if (lastServiced(context, unwind, item) === undefined) continue
      // Of the entry's time, by which it is found where the entry is taken back.
      serve({ unwind, item, note: '', person, tMs: Date.parse(time) }, from)
    }
  }

  const record = (from: string, action: string, subject: string, entry: SpliceEntry): void =>
    audit.record({
      tMs: clock.nowMs(),
      person: entry.person,
      from,
      action,
      subject,
      result: 'done',
      detail: [entry.outcome, entry.cause, entry.thing, entry.note].filter((part) => part !== null).join('; '),
    })
}

const isoTime = (tMs: number): string => new Date(tMs).toISOString()

const isEmpty = (fields: EntryFields): boolean =>
  Object.values(fields).every((value) => value === null || (Array.isArray(value) && value.length === 0))

/** @param splice - undefined where the entry makes the record. */
function fieldsOf(
  body: Static<typeof Entry>,
  nowMs: number,
  splice: SpliceView | undefined,
  say: Messages,
): EntryFields {
  const { outcome, cause, thing } = body
  if (
    (cause !== undefined || thing !== undefined) &&
    (outcome ?? splice?.review?.outcome ?? splice?.outcome) === 'good'
  ) {
    throw refused(say, 400, 'wrong_parameter', 'entry.cause_of_good')
  }
  const note = body.note?.trim()
  return {
    // A cause alone is said of the outcome as it stands.
    outcome: outcome ?? (cause === undefined ? null : (splice?.review?.outcome ?? splice?.outcome ?? null)),
    cause: cause ?? null,
    thing: thing ?? null,
    done: body.done ?? [],
    note: note === undefined || note === '' ? null : note,
    good_product: body.good_product === true ? isoTime(nowMs) : null,
    early_reason: body.early_reason ?? null,
    rest: body.rest ?? null,
    amounts: body.amounts ?? [],
    gap: body.gap ?? null,
  }
}
