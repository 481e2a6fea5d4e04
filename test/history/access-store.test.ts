import { existsSync, mkdtempSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { DatabaseSync } from 'node:sqlite'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { AccessStore } from '../../edge/history/access-store.ts'
import type { User } from '../../edge/security/account-store.ts'
import type { AuditEntry } from '../../edge/security/audit.ts'
import { AuditFlood } from '../../edge/security/audit-flood.ts'

let folder: string
let file: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'lastwrap-access-'))
  file = join(folder, 'access.sqlite')
})
afterEach(() => rmSync(folder, { recursive: true }))

const open = (maxBytes?: number): AccessStore =>
  new AccessStore(file, { nowMs: () => 0, ...(maxBytes !== undefined && { maxBytes }) })
const ADA: User = {
  person: 'Ada',
  role: 'engineer',
  passwordHash: 'scrypt$1024$8$1$x$y',
  mustChange: true,
  createdTMs: 1,
  lastSignInTMs: undefined,
  browsers: ['a', 'b'],
}
const DAY_MS = 86_400_000
const entry = (tMs: number, more: Partial<AuditEntry> = {}): AuditEntry => ({
  tMs,
  person: 'Ada',
  from: '10.0.0.1',
  action: 'ready',
  subject: 'label_press',
  result: 'done',
  detail: '',
  ...more,
})

describe('accounts', () => {
  it('are there again after a restart, in a file that nobody else reads', () => {
    const before = open()
    before.putUser(ADA)
    before.putUser({ ...ADA, role: 'operator', lastSignInTMs: 7 })
    before.putUser({ ...ADA, person: 'Bo' })
    before.putSession({ digest: 'd', person: 'Ada', untilTMs: 9 })
    before.putSession({ digest: 'e', person: 'Bo', untilTMs: 9 })
    before.putSetUpLink({ digest: 'l', untilTMs: 5 })
    before.removeUser('Bo')
    before.close()
    expect(statSync(file).mode & 0o777).toBe(0o600)
    const after = open()
    expect(after.users()).toEqual([{ ...ADA, role: 'operator', lastSignInTMs: 7 }])
    expect(after.sessions()).toEqual([{ digest: 'd', person: 'Ada', untilTMs: 9 }])
    expect(after.setUpLink()).toEqual({ digest: 'l', untilTMs: 5 })
    after.removeSessions(['d'])
    after.putSetUpLink(undefined)
    expect([after.sessions(), after.setUpLink()]).toEqual([[], undefined])
    after.close()
  })

  it('that are damaged are moved aside and told, never deleted', () => {
    writeFileSync(file, 'no database at all, but some text that is long enough to be one')
    const store = open()
    expect(store.notice).toMatch(/^The file of accounts and audit .*access\.sqlite is damaged \(.*\): it was moved to /)
    expect(existsSync(store.notice!.match(/moved to (\S+)/)![1]!)).toBe(true)
    expect(store.users()).toEqual([])
    store.close()
  })
})

describe('the audit', () => {
  it('is durable at once, and found by time, person and result, newest first', () => {
    const store = open()
    store.record(entry(1000))
    store.record(entry(2000, { person: 'Bo', result: 'refused', detail: 'why' }))
    store.record(entry(3000))
    // A second reader sees only what is committed.
    const reader = new DatabaseSync(file, { readOnly: true })
    expect(reader.prepare('SELECT count(*) AS n FROM audit').get()).toEqual({ n: 3 })
    reader.close()
    expect(store.entries({ limit: 2 }).map(({ id, tMs }) => [id, tMs])).toEqual([
      [3, 3000],
      [2, 2000],
    ])
    expect(store.entries({ limit: 9, beforeId: 2 })).toEqual([{ ...entry(1000), id: 1 }])
    expect(store.entries({ limit: 9, person: 'Bo' })).toEqual([
      { ...entry(2000, { person: 'Bo', result: 'refused', detail: 'why' }), id: 2 },
    ])
    expect(store.entries({ limit: 9, result: 'done', fromTMs: 1001, toTMs: 3000 })).toMatchObject([{ id: 3 }])
    store.close()
  })

  it('is only added to: the file itself refuses changes', () => {
    const store = open()
    store.record(entry(Date.now() - 300 * DAY_MS))
    store.close()
    const other = new DatabaseSync(file)
    expect(() => other.exec("UPDATE audit SET person = 'Eve'")).toThrow('the audit is only added to')
    expect(() => other.exec('DELETE FROM audit')).toThrow('the audit of the last year is only added to')
    other.close()
  })

  it('is found by what was done to an unwind, with its alarms, splices and notes, and not to one of a longer name', () => {
    const store = open()
    for (const subject of ['press', 'press-web_break-17', 'press_2', 'press_2-web_break-17', 'a press', ''])
      store.record(entry(1, { subject }))
    expect(store.entries({ limit: 9, about: 'press' }).map(({ subject }) => subject)).toEqual([
      'press-web_break-17',
      'press',
    ])
    store.close()
  })

  it('lets go of what is older than the config keeps, and ids are never given twice', () => {
    const store = open()
    const now = Date.now()
    for (const days of [4000, 3700, 3600, 1]) store.record(entry(now - days * DAY_MS))
    expect(store.pruneAudit(now - 3650 * DAY_MS)).toBe(2)
    expect(store.entries({ limit: 9 }).map(({ id }) => id)).toEqual([4, 3])
    expect(store.pruneAudit(now - 3650 * DAY_MS)).toBe(0)
    // Whatever the config says, none of the last year goes.
    expect(store.pruneAudit(now + DAY_MS)).toBe(0)
    expect(store.entries({ limit: 9 })).toHaveLength(2)
    store.record(entry(now))
    expect(store.entries({ limit: 1 })[0]!.id).toBe(5)
    store.close()
  })

  // IEC 62443-4-2 CR 2.9 and 2.10; NIST SP 800-53 AU-5: a full disk is told, and nothing stops.
  it('waits in memory while the disk is full and says so, and nothing that is needed to go on throws', () => {
    const store = open(64 * 1024)
    for (let n = 0; n < 60; n++) store.record(entry(n, { detail: 'x'.repeat(2000) }))
    expect(store.trouble()).toMatch(
      /can't be written \(.*full.*\): \d\d audit entries wait in memory, 0 were dropped\. Make room/,
    )
    expect(() => store.putUser({ ...ADA, passwordHash: 'x'.repeat(9000) })).toThrow(/can't be written .*Make room/)
    expect(() => store.putSession({ digest: 'd'.repeat(9000), person: 'Ada', untilTMs: 9 })).not.toThrow()
    expect(store.entries({ limit: 100 }).length).toBeLessThan(40)
    store.close()
  })

  it('is written whole and in order when it can be again', () => {
    const store = open()
    store.record(entry(1))
    const other = new DatabaseSync(file)
    other.exec('BEGIN IMMEDIATE')
    store.record(entry(2))
    store.record(entry(3))
    expect(store.trouble()).toMatch(/2 audit entries wait/)
    other.exec('ROLLBACK')
    other.close()
    store.flush()
    expect(store.trouble()).toBeUndefined()
    expect(store.entries({ limit: 9 }).map(({ id, tMs }) => [id, tMs])).toEqual([
      [3, 3],
      [2, 2],
      [1, 1],
    ])
    store.close()
  })
})

describe('a flood of refusals', () => {
  it('is counted beyond thirty a minute, and hides nothing that somebody did', () => {
    const kept: AuditEntry[] = []
    const flood = new AuditFlood({ record: (one) => kept.push(one) }, (count) => `${count} more`)
    const refusal = (tMs: number): AuditEntry => entry(tMs, { person: '', action: 'GET /api/users', result: 'refused' })
    for (let n = 0; n < 1000; n++) flood.record(refusal(n))
    flood.record(entry(1000))
    flood.record(entry(1001, { action: 'user added', result: 'refused' }))
    flood.record(entry(1002, { action: 'sign-in', result: 'refused', person: '', subject: 'guess' }))
    expect(kept).toHaveLength(32)
    flood.settle(60_000)
    expect(kept.at(-1)).toMatchObject({ detail: '971 more', person: '', result: 'refused' })
    flood.record(refusal(60_001))
    flood.settle(200_000)
    expect(kept).toHaveLength(34)
  })
})
