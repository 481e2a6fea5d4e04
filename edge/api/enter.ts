/** What a person asks for: done by the daemon, written into the audit whatever became of it, and answered. */
import type { RouteContext } from './app.ts'
import { failureOf } from './failures.ts'
import type { Command } from './messages.ts'

export type Enter = (command: Command, from: string, detail: string, subject?: string) => { done: true; person: string }

/** The function throws a `Failure` (409) with the daemon's sentence where it refuses; `subject` is the unwind unless said. */
export const enterBy =
  ({ daemon, clock, audit, say }: Pick<RouteContext, 'daemon' | 'clock' | 'audit' | 'say'>): Enter =>
  (command, from, detail, subject = command.unwind) => {
    const refusal = daemon.command(command)
    audit.record({
      tMs: clock.nowMs(),
      person: command.person,
      from,
      action: command.kind,
      subject,
      result: refusal === undefined ? 'done' : 'refused',
      detail: refusal === undefined ? detail : say(refusal.key, refusal.parameters),
    })
    if (refusal !== undefined) throw failureOf(409, 'not_possible', refusal)
    return { done: true, person: command.person }
  }
