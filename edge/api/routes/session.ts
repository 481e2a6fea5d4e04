/** Signing in and out, and who one is. Without a password there is nothing to sign in to. */
import { Type } from 'typebox'
import { PASSWORD_MAX_LENGTH } from '../../security/password.ts'
import { PERSON_MAX_LENGTH, personName } from '../../security/person.ts'
import { sessionCookie, tokenIn } from '../../security/sessions.ts'
import type { SignIn } from '../../security/sign-in.ts'
import type { ApiApp, RouteContext } from '../app.ts'
import { Failure, wrongParameter } from '../failures.ts'
import { FAILURES, SessionViewRef } from '../schemas.ts'

const NOTHING_TO_ENTER = 'No password is set on this machine, so there is nothing to sign in to.'

export const sessionRoutes = (app: ApiApp, { clock, audit }: RouteContext, signIn: SignIn | undefined): void => {
  app.get(
    '/api/session',
    {
      config: { role: 'viewer' },
      schema: {
        tags: ['session'],
        summary: 'Who this is and what may be done',
        response: { 200: SessionViewRef, ...FAILURES },
      },
    },
    (request) => ({ sign_in: signIn !== undefined, person: request.session?.person ?? null, role: request.role }),
  )
  app.post(
    '/api/sign-in',
    {
      config: { role: 'viewer', isSession: true },
      schema: {
        tags: ['session'],
        summary: 'Signs a person in with the password of the site',
        body: Type.Object(
          {
            person: Type.String({
              minLength: 1,
              maxLength: PERSON_MAX_LENGTH,
              description: 'Name that commands carry',
            }),
            password: Type.String({ minLength: 1, maxLength: PASSWORD_MAX_LENGTH }),
          },
          { additionalProperties: false },
        ),
        response: { 200: SessionViewRef, ...FAILURES },
      },
    },
    async (request, reply) => {
      if (signIn === undefined) throw new Failure(409, 'not_possible', NOTHING_TO_ENTER)
      const person = personName(request.body.person)
      if (person === undefined) throw wrongParameter('person', 'is blank: enter your name.')
      const entry = await signIn.enter(person, request.body.password, request.ip)
      switch (entry.kind) {
        case 'wrong':
          throw new Failure(401, 'sign_in_refused', 'The password is wrong.')
        case 'wait':
          void reply.header('retry-after', String(entry.seconds))
          throw new Failure(
            429,
            'too_many',
            `Too many wrong passwords came from this address: try again in ${entry.seconds} s.`,
          )
        case 'busy':
          void reply.header('retry-after', '5')
          throw new Failure(
            503,
            'too_many',
            'Too many people are signing in at this moment: try again in a few seconds.',
          )
        case 'entered':
          void reply.header('set-cookie', sessionCookie(entry.token, request.protocol === 'https'))
          return { sign_in: true, person, role: 'operator' as const }
      }
    },
  )
  app.post(
    '/api/sign-out',
    {
      config: { role: 'viewer', isSession: true },
      schema: {
        tags: ['session'],
        summary: 'Ends the session',
        body: Type.Object({}, { additionalProperties: false }),
        response: { 200: SessionViewRef, ...FAILURES },
      },
    },
    (request, reply) => {
      if (signIn === undefined) throw new Failure(409, 'not_possible', NOTHING_TO_ENTER)
      if (request.session !== undefined) {
        signIn.sessions.close(tokenIn(request.headers.cookie))
        audit.record({
          tMs: clock.nowMs(),
          person: request.session.person,
          from: request.ip,
          action: 'sign-out',
          subject: '',
          result: 'done',
          detail: '',
        })
      }
      void reply.header('set-cookie', sessionCookie('', request.protocol === 'https'))
      return { sign_in: true, person: null, role: 'viewer' as const }
    },
  )
}
