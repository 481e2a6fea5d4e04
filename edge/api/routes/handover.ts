/** What one shift hands over to the next, its notes, and who took over. */
import { Type } from 'typebox'
import { PERSON_MAX_LENGTH } from '../../security/person.ts'
import { personOf } from '../access.ts'
import type { ApiApp, RouteContext } from '../app.ts'
import { failureOf, wrongParameter } from '../failures.ts'
import { Person } from '../schema-parts.ts'
import { DoneView, FAILURES } from '../schemas.ts'
import { HandoverViewRef } from '../schemas-handover.ts'
import { unwindOf } from './unwinds.ts'

const NOTE_MAX_LENGTH = 1000
const Note = Type.String({ maxLength: NOTE_MAX_LENGTH, description: 'In the words of whoever writes it' })

export const handoverRoutes = (app: ApiApp, { daemon, clock, audit }: RouteContext): void => {
  const noted = (action: string, subject: string, person: string, from: string, detail: string) => {
    audit.record({ tMs: clock.nowMs(), person, from, action, subject, result: 'done', detail })
    return { done: true as const, person }
  }
  app.get(
    '/api/handover',
    {
      config: { role: 'viewer' },
      schema: {
        tags: ['handover'],
        summary:
          'What the next crew has to know: splices of the next hour, rolls, stubs, alarms, notes, changes, counts',
        response: { 200: HandoverViewRef, ...FAILURES },
      },
    },
    () => daemon.handover.view(),
  )
  app.post(
    '/api/handover/notes',
    {
      config: { role: 'operator' },
      schema: {
        tags: ['handover'],
        summary: 'A note for whoever comes next; it stays open until somebody closes it',
        body: Type.Object(
          { note: Note, unwind: Type.Optional(Type.String({ description: 'About which unwind' })), person: Person },
          { additionalProperties: false },
        ),
        response: { 200: DoneView, ...FAILURES },
      },
    },
    (request) => {
      const { unwind = '', person: named } = request.body
      const note = request.body.note.trim()
      if (note === '') throw wrongParameter('note', 'empty_note')
      if (unwind !== '') unwindOf(daemon, unwind)
      const person = personOf(request, named)
      daemon.handover.note(note, unwind, person)
      return noted('note', unwind, person, request.ip, note)
    },
  )
  app.post(
    '/api/handover/notes/close',
    {
      config: { role: 'operator' },
      schema: {
        tags: ['handover'],
        summary: 'A note is dealt with',
        body: Type.Object(
          { id: Type.String({ maxLength: 200, description: "The note's id" }), person: Person },
          { additionalProperties: false },
        ),
        response: { 200: DoneView, ...FAILURES },
      },
    },
    (request) => {
      const { id, person: named } = request.body
      const person = personOf(request, named)
      const refusal = daemon.handover.closeNote(id, person)
      if (refusal !== undefined) throw failureOf(409, 'not_possible', refusal)
      return noted('note closed', id, person, request.ip, '')
    },
  )
  app.post(
    '/api/handover/taken-over',
    {
      config: { role: 'operator' },
      schema: {
        tags: ['handover'],
        summary: 'A person takes over: kept with name and time',
        body: Type.Object(
          {
            note: Type.Optional(Note),
            by: Type.Optional(
              Type.String({
                maxLength: PERSON_MAX_LENGTH,
                description: 'Who takes over, where another one is signed in: both names are kept',
              }),
            ),
            person: Person,
          },
          { additionalProperties: false },
        ),
        response: { 200: DoneView, ...FAILURES },
      },
    },
    (request) => {
      const { note = '', by, person: named } = request.body
      const signedIn = personOf(request, named)
      const person = by?.trim() || signedIn
      const isOther = person !== signedIn && request.session !== undefined
      daemon.handover.takeOver(note.trim(), person, isOther ? signedIn : null)
      // The audit has who did it, which is who is signed in; who takes over stands in its words.
      const detail = isOther ? `by ${person} ${note.trim()}` : note.trim()
      return noted('taken over', '', isOther ? signedIn : person, request.ip, detail.trim())
    },
  )
}
