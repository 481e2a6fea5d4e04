import { describe, expect, it } from 'vitest'
import { Attempts } from '../../edge/security/attempts.ts'
import { assertMayListen, isLoopback } from '../../edge/security/listen-rule.ts'
import { hostName } from '../../edge/security/origin.ts'
import { personName } from '../../edge/security/person.ts'
import { mayAct, ROLES } from '../../edge/security/roles.ts'
import { Sessions, sessionCookie, tokenIn } from '../../edge/security/sessions.ts'

describe('the listen rule', () => {
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
    expect(() => assertMayListen(host, false)).not.toThrow()
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
  ])('wants a password for %j', (host) => {
    expect(() => assertMayListen(host, false)).toThrow(
      `web.listen is ${host}, which other machines can reach, but no password is set: set web.password_env or web.password_file, or listen on 127.0.0.1.`,
    )
    expect(() => assertMayListen(host, true)).not.toThrow()
  })
})

describe('attempts', () => {
  const failed = (attempts: Attempts, address: string, times: number, atMs = 0): void => {
    for (let time = 0; time < times; time++) attempts.failed(address, atMs)
  }

  it('are free five times, then cost a wait that doubles up to a quarter of an hour', () => {
    const attempts = new Attempts()
    failed(attempts, '10.0.0.1', 4)
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
    failed(attempts, '10.0.0.1', 9)
    attempts.succeeded('10.0.0.1')
    failed(attempts, '10.0.0.1', 4)
    expect(attempts.waitMs('10.0.0.1', 0)).toBe(0)
    failed(attempts, '10.0.0.1', 1, 3_600_001)
    expect(attempts.waitMs('10.0.0.1', 3_600_001)).toBe(0)
  })

  it('count a whole /64 of IPv6 as one guest', () => {
    const attempts = new Attempts()
    for (let host = 1; host <= 5; host++) attempts.failed(`2001:db8:0:1::${host}`, 0)
    expect(attempts.waitMs('2001:db8::1:a:b:c:d', 0)).toBe(30_000)
    expect(attempts.waitMs('2001:db8:0:2::1', 0)).toBe(0)
    for (let host = 1; host <= 5; host++) attempts.failed(`::ffff:10.0.0.${host}`, 0)
    expect(attempts.waitMs('::ffff:10.0.0.1', 0)).toBe(0)
  })

  it('of a flood of addresses take bounded memory', () => {
    const attempts = new Attempts()
    for (let host = 0; host < 10_000; host++) attempts.failed(`10.0.${host >> 8}.${host & 255}`, host)
    expect(attempts.size).toBe(2000)
  })
})

describe('sessions', () => {
  it('are found by their token only, until they end', () => {
    const sessions = new Sessions()
    const token = sessions.open('Ada', 'operator', 1000)
    expect(sessions.find(token, 1000)).toMatchObject({ person: 'Ada', role: 'operator' })
    expect(sessions.find(`${token.slice(0, -1)}_`, 1000)).toBeUndefined()
    expect(sessions.find(undefined, 1000)).toBeUndefined()
    expect(sessions.find(token, 1000 + 12 * 3_600_000)).toBeUndefined()
    expect(sessions.size).toBe(0)
    expect(Buffer.from(token, 'base64url')).toHaveLength(32)
  })

  it('are bounded: the oldest ends', () => {
    const sessions = new Sessions()
    const tokens = Array.from({ length: 501 }, () => sessions.open('Ada', 'operator', 0))
    expect(sessions.size).toBe(500)
    expect(sessions.find(tokens[0], 1)).toBeUndefined()
    expect(sessions.find(tokens[1], 1)).toBeDefined()
  })

  it('travel in a cookie that no script reads and no other site sends', () => {
    expect(sessionCookie('abc', true)).toBe(
      'lastwrap_session=abc; Path=/; HttpOnly; SameSite=Strict; Max-Age=43200; Secure',
    )
    expect(tokenIn('a=1; lastwrap_session=abc=; b=2')).toBe('abc=')
    for (const header of [undefined, '', 'xlastwrap_session=abc', 'lastwrap_session', ';;='])
      expect(tokenIn(header)).toBeUndefined()
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
