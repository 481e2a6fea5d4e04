import { describe, expect, it } from 'vitest'
import { Attempts } from '../../edge/security/attempts.ts'
import { cookieIn, setCookie } from '../../edge/security/cookies.ts'
import { LockOut, type Tried } from '../../edge/security/lock-out.ts'
import { isLoopback } from '../../edge/security/loopback.ts'
import { hostName } from '../../edge/security/origin.ts'
import { personName } from '../../edge/security/person.ts'
import { mayAct, ROLES } from '../../edge/security/roles.ts'
import { Sessions } from '../../edge/security/sessions.ts'
import { IDLE_MS, MemoryAccess } from '../support/memory-access.ts'

describe('this machine', () => {
  // 127.0.0.0/8: RFC 1122 3.2.1.3; ::1: RFC 4291 2.5.3; ::ffff:0:0/96: RFC 4291 2.5.5.2.
  it.each([
    'localhost',
    'LOCALHOST',
    '127.0.0.1',
    '127.255.0.3',
    '::1',
    '[::1]',
    '0:0:0:0:0:0:0:1',
    '::ffff:127.0.0.1',
  ])('takes %s as this machine', (host) => {
    expect(isLoopback(host)).toBe(true)
  })

  it.each([
    '0.0.0.0',
    '::',
    '[::]',
    '192.168.1.5',
    '128.0.0.1',
    'press-pc',
    'localhost.example',
    '127.0.0.1.example',
    '127.0.0.999',
    '::ffff:10.0.0.1',
    'fd00::1',
    '',
  ])('is not %j', (host) => {
    expect(isLoopback(host)).toBe(false)
  })
})

describe('attempts', () => {
  const failed = (attempts: Attempts, address: string, times: number, atMs = 0): void => {
    for (let time = 0; time < times; time++) attempts.failed(address, atMs)
  }

  it('are free twenty times, then cost a wait that doubles up to a quarter of an hour', () => {
    const attempts = new Attempts()
    failed(attempts, '10.0.0.1', 19)
    expect(attempts.waitMs('10.0.0.1', 0)).toBe(0)
    const waits: number[] = []
    for (let time = 0; time < 8; time++) {
      failed(attempts, '10.0.0.1', 1)
      waits.push(attempts.waitMs('10.0.0.1', 0) / 1000)
    }
    expect(waits).toEqual([30, 60, 120, 240, 480, 900, 900, 900])
    expect(attempts.waitMs('10.0.0.1', 899_999)).toBe(1)
    expect(attempts.waitMs('10.0.0.1', 900_000)).toBe(0)
    expect(attempts.waitMs('10.0.0.2', 0)).toBe(0)
  })

  it('are forgotten by success and after a quiet hour', () => {
    const attempts = new Attempts()
    failed(attempts, '10.0.0.1', 30)
    attempts.succeeded('10.0.0.1')
    failed(attempts, '10.0.0.1', 19)
    expect(attempts.waitMs('10.0.0.1', 0)).toBe(0)
    failed(attempts, '10.0.0.1', 1, 3_600_001)
    expect(attempts.waitMs('10.0.0.1', 3_600_001)).toBe(0)
  })

  it('count a whole /64 of IPv6 as one guest', () => {
    const attempts = new Attempts()
    for (let host = 1; host <= 20; host++) attempts.failed(`2001:db8:0:1::${host}`, 0)
    expect(attempts.waitMs('2001:db8::1:a:b:c:d', 0)).toBe(30_000)
    expect(attempts.waitMs('2001:db8:0:2::1', 0)).toBe(0)
    for (let host = 1; host <= 20; host++) attempts.failed(`::ffff:10.0.0.${host}`, 0)
    expect(attempts.waitMs('::ffff:10.0.0.1', 0)).toBe(0)
  })

  it('of a flood of addresses take bounded memory', () => {
    const attempts = new Attempts()
    for (let host = 0; host < 10_000; host++) attempts.failed(`10.0.${host >> 8}.${host & 255}`, host)
    expect(attempts.size).toBe(2000)
  })
})

describe('the lock of an account', () => {
  const MIN = 60_000
  const tried: Tried = { account: 'ada', isUser: true, browser: undefined }
  const fail = (lockOut: LockOut, times: number, atMs: number, what = tried): (number | undefined)[] =>
    Array.from({ length: times }, () => lockOut.wrong(what, atMs))

  // IEC 62443-4-2 CR 1.11 and NIST SP 800-53 AC-7: a number of tries, then a time.
  it('comes with the tenth wrong password, ends by itself and grows up to four hours', () => {
    const lockOut = new LockOut()
    expect(fail(lockOut, 9, 0)).toEqual(Array(9).fill(undefined))
    let nowMs = 0
    const lengths: number[] = []
    for (let lock = 0; lock < 6; lock++) {
      const until = fail(lockOut, lock === 0 ? 1 : 10, nowMs).at(-1)!
      lengths.push((until - nowMs) / MIN)
      expect(lockOut.lockedUntil(tried, until - 1)).toBe(until)
      expect(lockOut.lockedUntil(tried, until)).toBeUndefined()
      nowMs = until
    }
    expect(lengths).toEqual([15, 30, 60, 120, 240, 240])
    fail(lockOut, 9, nowMs + 24 * 60 * MIN + 1)
    expect(lockOut.lockedUntil(tried, nowMs + 24 * 60 * MIN + 1)).toBeUndefined()
  })

  it('is there again after a restart, and so are the tries on the way to it', () => {
    const store = new MemoryAccess()
    const before = new LockOut(store)
    const until = fail(before, 10, 0).at(-1)!
    const other = { ...tried, account: 'bo' }
    fail(before, 9, 0, other)
    const after = new LockOut(store)
    expect(after.lockedUntil(tried, until - 1)).toBe(until)
    expect(after.wrong(other, 1)).toBeDefined()
    after.right(other)
    after.unlock(tried.account)
    const again = new LockOut(store)
    expect([again.lockedUntil(tried, 1), again.lockedUntil(other, 1)]).toEqual([undefined, undefined])
  })

  it('leaves alone the browser from which that person signed in before, which is counted by itself', () => {
    const lockOut = new LockOut()
    const atHome = { ...tried, browser: 'panel' }
    fail(lockOut, 200, 0)
    expect(lockOut.lockedUntil(tried, 0)).toBeDefined()
    expect(lockOut.lockedUntil(atHome, 0)).toBeUndefined()
    fail(lockOut, 10, 0, atHome)
    expect(lockOut.lockedUntil(atHome, 0)).toBe(15 * MIN)
    expect(lockOut.longestLock('ada', 0)).toBe(240 * MIN)
    lockOut.unlock('ada')
    expect([lockOut.lockedUntil(tried, 0), lockOut.lockedUntil(atHome, 0)]).toEqual([undefined, undefined])
  })

  it('of invented names is counted like that of users, in bounded memory that pushes no user out', () => {
    const lockOut = new LockOut()
    fail(lockOut, 9, 0)
    for (let n = 0; n < 5000; n++) lockOut.wrong({ account: `guess ${n}`, isUser: false, browser: undefined }, n)
    expect(lockOut.unknown).toBe(2000)
    expect(fail(lockOut, 1, 1)[0]).toBeDefined()
    expect(fail(lockOut, 10, 0, { account: 'nobody', isUser: false, browser: undefined }).at(-1)).toBe(15 * MIN)
  })
})

describe('sessions', () => {
  const H = 3_600_000
  const DAY = 24 * H
  const engineer = { role: 'engineer', mustChange: false } as const

  it('are found by their token only, until they end', () => {
    const store = new MemoryAccess()
    const sessions = new Sessions(store, IDLE_MS, new Map())
    const token = sessions.open('Ada', 'operator', false, 1000)
    expect(sessions.find(token, 1000)).toMatchObject({ person: 'Ada', role: 'operator' })
    expect(sessions.find(`${token.slice(0, -1)}_`, 1000)).toBeUndefined()
    expect(sessions.find(undefined, 1000)).toBeUndefined()
    expect(sessions.find(token, 1000 + 400 * DAY)).toBeUndefined()
    expect([sessions.size, store.kept.size]).toEqual([0, 0])
    expect(Buffer.from(token, 'base64url')).toHaveLength(32)
  })

  // IEC 62443-4-2 CR 2.5 and 2.6: the privilege ends, the screen does not go dark.
  it('stop acting when nobody acts, and after a shift, but go on looking', () => {
    const sessions = new Sessions(new MemoryAccess(), IDLE_MS, new Map())
    const session = sessions.find(sessions.open('Ada', 'engineer', false, 0), 0)!
    expect(sessions.roleNow(session, IDLE_MS - 1)).toBe('engineer')
    expect(sessions.roleNow(session, IDLE_MS)).toBe('viewer')
    sessions.act(session, IDLE_MS)
    expect(sessions.roleNow(session, IDLE_MS), 'nobody wakes it without a password').toBe('viewer')
    const busy = sessions.find(sessions.open('Ada', 'engineer', false, 0), 0)!
    for (let tMs = 0; tMs < 13 * H; tMs += 60_000) sessions.act(busy, tMs)
    expect(sessions.roleNow(busy, 12 * H - 1)).toBe('engineer')
    expect(sessions.roleNow(busy, 12 * H)).toBe('viewer')
    expect(sessions.roleNow(sessions.find(sessions.open('Bo', 'engineer', true, 0), 0)!, 0)).toBe('viewer')
  })

  it('outlive a restart with looking only, and not the person', () => {
    const store = new MemoryAccess()
    const before = new Sessions(store, IDLE_MS, new Map())
    const [ada, bo] = [before.open('Ada', 'engineer', false, 0), before.open('Bo', 'operator', false, 0)]
    const after = new Sessions(store, IDLE_MS, new Map([['Ada', engineer]]))
    const session = after.find(ada, 1)!
    expect(after.roleNow(session, 1)).toBe('viewer')
    expect(after.find(bo, 1)).toBeUndefined()
    expect(JSON.stringify([...store.kept.values()])).not.toContain(ada)
  })

  it('are bounded for each person: the oldest ends', () => {
    const sessions = new Sessions(new MemoryAccess(), IDLE_MS, new Map())
    const tokens = Array.from({ length: 51 }, () => sessions.open('Ada', 'operator', false, 0))
    const other = sessions.open('Bo', 'viewer', false, 0)
    expect(sessions.size).toBe(51)
    expect(sessions.find(tokens[0], 1)).toBeUndefined()
    expect(sessions.find(tokens[1], 1)).toBeDefined()
    expect(sessions.closeAll('Ada')).toBe(50)
    expect(sessions.find(other, 1)).toBeDefined()
  })

  it('travel in a cookie that no script reads and no other site sends', () => {
    expect(setCookie('lastwrap_session', 'abc', { basePath: '', isHttps: true })).toBe(
      'lastwrap_session=abc; Path=/; HttpOnly; SameSite=Strict; Max-Age=34560000; Secure',
    )
    expect(setCookie('a', '', { basePath: '/lastwrap', isHttps: false })).toBe(
      'a=; Path=/lastwrap/; HttpOnly; SameSite=Strict; Max-Age=0',
    )
    expect(cookieIn('a=1; lastwrap_session=abc=; b=2', 'lastwrap_session')).toBe('abc=')
    for (const header of [undefined, '', 'xlastwrap_session=abc', 'lastwrap_session', ';;='])
      expect(cookieIn(header, 'lastwrap_session')).toBeUndefined()
  })
})

describe('names', () => {
  it('of persons are one trimmed line of at most 64 characters', () => {
    expect(personName('  Ada \n\t Byron\u0000 ')).toBe('Ada Byron')
    expect(personName(' \u200b\u2028 ')).toBeUndefined()
    expect([...personName('😀'.repeat(100))!]).toHaveLength(64)
    expect(personName('Jose\u0301')).toBe('Jos\u00e9')
  })

  it('of hosts are read without port and brackets, or not at all', () => {
    expect(['localhost:1', '[::1]:80', 'Press-PC', '10.0.0.1'].map(hostName)).toEqual([
      'localhost',
      '::1',
      'press-pc',
      '10.0.0.1',
    ])
    expect(['', undefined, 'a/b', 'a@b', 'a:b', '::1', 'a b', '[::1'].map(hostName)).toEqual(Array(8).fill(undefined))
  })
})

describe('roles', () => {
  it('hold what the ones below hold', () => {
    for (const [held, role] of ROLES.entries()) {
      for (const [needed, other] of ROLES.entries()) expect(mayAct(role, other)).toBe(held >= needed)
    }
  })
})
