/** Who may do what, and who did what, as the API and the dashboard exchange it. */
import type { AuditEntry } from '../security/audit.ts'
import type { Role } from '../security/roles.ts'

export interface SessionView {
  sign_in: boolean
  person: string | null
  role: Role
  signed_in_role: Role | null
  /** s. */
  acts_for: number | null
  must_change: boolean
  may_look: boolean
  needs_set_up: boolean
  password_least: number
}

export interface UserView {
  person: string
  role: Role
  must_change: boolean
  created: string
  last_sign_in: string | null
  locked_until: string | null
  sessions: number
  acting: number
}

export interface AuditView {
  id: number
  time: string
  person: string
  from: string
  action: string
  subject: string
  result: AuditEntry['result']
  detail: string
}
