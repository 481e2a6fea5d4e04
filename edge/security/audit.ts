/** Who did what, when, and what came of it: one entry per command, sign-in and refusal. Entries carry no secret. */
export const AUDIT_RESULTS = ['done', 'refused'] as const

export interface AuditEntry {
  /** ms since 1970 UTC. */
  tMs: number
  /** Empty where nobody is signed in. */
  person: string
  /** Address of the peer. */
  from: string
  /** `sign-in`, `sign-out`, `acknowledge`, `ready`, or method and route. */
  action: string
  /** What it was done to: an alarm's or unwind's id; empty where there is none. */
  subject: string
  result: (typeof AUDIT_RESULTS)[number]
  /** Why it was refused, or what the person wrote. */
  detail: string
}

/** Takes entries; must not throw. */
export interface AuditSink {
  record(entry: AuditEntry): void
}

export interface AuditFilter {
  /** ms since 1970 UTC, inclusive. */
  fromTMs?: number | undefined
  toTMs?: number | undefined
  person?: string | undefined
  result?: AuditEntry['result'] | undefined
  /** Only what was done to this unwind or person: by id or name. */
  about?: string | undefined
  /** Only entries older than this one. */
  beforeId?: number | undefined
  limit: number
}

/** An entry as it is kept: ids rise, without a gap. */
export interface KeptEntry extends AuditEntry {
  id: number
}

/** The durable log: entries are only added, and go when they are older than the config keeps. */
export interface AuditLog extends AuditSink {
  /** Newest first. */
  entries(filter: AuditFilter): KeptEntry[]
  /** What is wrong with keeping it, in a sentence. */
  trouble(): string | undefined
}
