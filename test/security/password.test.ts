import { describe, expect, it } from 'vitest'
import { hashPassword, isPasswordHash, passwordHashFrom, verifyPassword } from '../../edge/security/password.ts'

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

  it('are taken from a secret as text or as a hash', async () => {
    expect(await passwordHashFrom(`${published}\n`)).toBe(published)
    expect(isPasswordHash(await passwordHashFrom('tin whistle 9\r\n'))).toBe(true)
  })

  it('that guard nothing are refused with a sentence', async () => {
    await expect(passwordHashFrom('short\n')).rejects.toMatchObject({
      code: 'not_allowed',
      message: 'The password of the web pages has 5 characters: take one with 8 to 256.',
    })
    await expect(passwordHashFrom('x'.repeat(257))).rejects.toMatchObject({ code: 'not_allowed' })
  })

  it.each(['', 'tin whistle 9', 'scrypt$1$8$1$AAAAAAAAAAAAAAAAAAAA$AAAA', 'scrypt$16383$8$1$', 'scrypt$99999999$8$1$'])(
    'match no hash that is none: %j',
    async (hash) => {
      const whole = hash.endsWith('$1$') ? `${hash}${'A'.repeat(22)}$${'A'.repeat(43)}` : hash
      expect(await verifyPassword('tin whistle 9', whole)).toBe(false)
    },
  )
})
