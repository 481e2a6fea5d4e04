/** Who did what, when, and what came of it: one entry per command, sign-in and refusal. Entries carry no secret. */
export interface AuditEntry {
  /** ms since 1970 UTC. */
  tMs: number
  person: string
  /** Address of the peer. */
  from: string
  /** `sign-in`, `sign-out`, `acknowledge`, `ready`. */
  action: string
  /** What it was done to: an alarm's or unwind's id; empty where there is none. */
  subject: string
  result: 'done' | 'refused'
  /** Why it was refused, or what the person wrote. */
  detail: string
}

/** Takes entries; must not throw. */
export interface AuditSink {
  record(entry: AuditEntry): void
}
