import { describe, expect, it } from 'vitest'
import { hashPassword, isOutdatedHash, verifyPassword } from '../../edge/security/password.ts'
import { passwordFault } from '../../edge/security/password-rule.ts'

describe('passwords', () => {
  // RFC 7914 section 12, third vector: scrypt("pleaseletmein", "SodiumChloride", N=16384, r=8, p=1, 64).
  const key =
    '7023bdcb3afd7348461c06cd81fd38ebfda8fbba904f8e3ea9b543f6545da1f2d5432955613f0fcf62d49705242a9af9e61e85dc0d651e40dfcf017b45575887'
  const published = `scrypt$16384$8$1$${Buffer.from('SodiumChloride').toString('base64url')}$${Buffer.from(key, 'hex').toString('base64url')}`

  it('agree with the published vector of RFC 7914', async () => {
    expect(await verifyPassword('pleaseletmein', published)).toBe(true)
    expect(await verifyPassword('pleaseletmeiN', published)).toBe(false)
  })

  it('are never kept, and hash differently each time', async () => {
    const [one, two] = await Promise.all([hashPassword('tin whistle 9'), hashPassword('tin whistle 9')])
    expect(one).not.toBe(two)
    expect(one).not.toContain('tin')
    expect(one).toMatch(/^scrypt\$32768\$8\$3\$/)
    expect(await verifyPassword('tin whistle 9', one)).toBe(true)
    expect(await verifyPassword('', one)).toBe(false)
  })

  it('are the same however an accent was typed', async () => {
    const hash = await hashPassword('Gr\u00fcnwald-7')
    expect(await verifyPassword('Gru\u0308nwald-7', hash)).toBe(true)
  })

  it('of an earlier cost are known to be', () => {
    expect(isOutdatedHash(published)).toBe(true)
    expect(isOutdatedHash(published, { N: 16_384, r: 8, p: 1 })).toBe(false)
    expect(isOutdatedHash('nonsense')).toBe(true)
  })

  it.each(['', 'tin whistle 9', 'scrypt$1$8$1$AAAAAAAAAAAAAAAAAAAA$AAAA', 'scrypt$16383$8$1$', 'scrypt$99999999$8$1$'])(
    'match no hash that is none: %j',
    async (hash) => {
      const whole = hash.endsWith('$1$') ? `${hash}${'A'.repeat(22)}$${'A'.repeat(43)}` : hash
      expect(await verifyPassword('tin whistle 9', whole)).toBe(false)
    },
  )
})

describe('the rule for passwords', () => {
  const known = ['Ada Byron', 'Alder Quay Works']
  // NIST SP 800-63B-3 5.1.1.2 (from memory): a least length, a list of what is tried first, no composition, spaces and any sign allowed.
  it.each([
    ['nine sig9', 'access.password.short'],
    ['😀'.repeat(9), 'access.password.short'],
    ['x1'.repeat(129), 'access.password.long'],
    ['1234567890', 'access.password.common'],
    ['9876543210', 'access.password.common'],
    ['abcdefghijkl', 'access.password.common'],
    ['aaaaaaaaaaaa', 'access.password.common'],
    ['ababababab', 'access.password.common'],
    ['P@ssw0rd2026', 'access.password.common'],
    ['passwordpassword', 'access.password.common'],
    ['Engineer 123', 'access.password.common'],
    ['qwertzuiop1', 'access.password.common'],
    ['ada byron 1', 'access.password.known'],
    ['Lastwrap123', 'access.password.known'],
    ['alder quay works', 'access.password.known'],
  ])('refuses %s: %s', (password, key) => {
    expect(passwordFault(password, known)).toMatchObject({ key })
  })

  it.each([
    'tin whistle 9',
    'correct horse battery staple',
    'Grünwald-77',
    'нож и клей и рулон',
    'lastwrap is on the wall',
  ])('takes %s', (password) => {
    expect(passwordFault(password, known)).toBeUndefined()
  })
})
