/** The shapes of who may do what, and who did what. */
import { type Static, Type } from 'typebox'
import { AUDIT_RESULTS } from '../security/audit.ts'
import { PASSWORD_MAX_LENGTH, PASSWORD_MIN_LENGTH } from '../security/password-rule.ts'
import { PERSON_MAX_LENGTH } from '../security/person.ts'
import { ROLES } from '../security/roles.ts'
import type { AuditView, SessionView, UserView } from './messages-access.ts'
import {
  type Holds,
  named,
  nullable,
  numberOrNull,
  oneOf,
  type Same,
  text,
  textOrNull,
  time,
  timeOrNull,
} from './schema-parts.ts'

export const SessionViewSchema = Type.Object(
  {
    sign_in: Type.Boolean({ description: 'Acting needs a session' }),
    person: textOrNull('Who is signed in; null where nobody is'),
    role: oneOf(ROLES, 'What this request may do now'),
    signed_in_role: nullable(ROLES, 'What the person may do who is signed in, where the session may act'),
    acts_for: numberOrNull('How long the session may act yet if nobody does anything, s; 0 where it may only look'),
    must_change: Type.Boolean({ description: 'The person has to choose a password before anything else' }),
    may_look: Type.Boolean({ description: 'False where even looking needs a session' }),
    needs_set_up: Type.Boolean({ description: 'There is no engineer yet: the set-up link makes one' }),
    password_least: Type.Integer({ description: 'Fewest characters of a password' }),
  },
  { $id: 'SessionView' },
)

export const UserViewSchema = Type.Object(
  {
    person: text('Name that commands carry'),
    role: oneOf(ROLES),
    must_change: Type.Boolean({ description: 'Has to choose a password at the next sign-in' }),
    created: time('When the account was made'),
    last_sign_in: timeOrNull('When the person last signed in; null where never'),
    locked_until: timeOrNull('Until when wrong passwords lock the account; null where they do not'),
    sessions: Type.Integer({ description: 'Browsers that are signed in' }),
    acting: Type.Integer({ description: 'Those of them that may act now' }),
  },
  { $id: 'UserView' },
)

export const AuditViewSchema = Type.Object(
  {
    id: Type.Integer({ description: 'Rises without a gap' }),
    time: time('When'),
    person: text('Who; empty where nobody was signed in'),
    from: text('Address of the peer'),
    action: text('What: a word, or method and route'),
    subject: text('To what; may be empty'),
    result: oneOf(AUDIT_RESULTS),
    detail: text('Why it was refused, or what the person wrote'),
  },
  { $id: 'AuditView' },
)

export const ACCESS_SCHEMAS = [SessionViewSchema, UserViewSchema, AuditViewSchema] as const

export const SessionViewRef = named(SessionViewSchema)
export const UserViewRef = named(UserViewSchema)
export const AuditViewRef = named(AuditViewSchema)

export const Person = Type.String({
  minLength: 1,
  maxLength: PERSON_MAX_LENGTH,
  description: 'Name that commands carry',
})
/** Of somebody who may have chosen it under another rule. */
export const GivenPassword = Type.String({ minLength: 1, maxLength: PASSWORD_MAX_LENGTH })
export const NewPassword = Type.String({
  minLength: 1,
  maxLength: PASSWORD_MAX_LENGTH,
  description: `At least ${PASSWORD_MIN_LENGTH} characters`,
})
export const RoleName = oneOf(ROLES, 'What the person may do')
export const Nothing = Type.Object({}, { additionalProperties: false })

export type SchemasMatch = [
  Holds<Same<Static<typeof SessionViewSchema>, SessionView>>,
  Holds<Same<Static<typeof UserViewSchema>, UserView>>,
  Holds<Same<Static<typeof AuditViewSchema>, AuditView>>,
]
