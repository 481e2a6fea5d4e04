/**
 * Passwords are kept only as a memory-hard hash (scrypt, RFC 7914) with a random salt, and compared in constant time.
 *
 * Cost: N = 2^15, r = 8, p = 3 (32 MB, about 0.2 s on a small edge machine); OWASP's Password Storage Cheat Sheet lists it as
 * equal to N = 2^17, p = 1 (from memory), with a quarter of the memory. The cost stands in the hash, so it can be raised later.
 */
import { randomBytes, type ScryptOptions, scrypt, timingSafeEqual } from 'node:crypto'
import { promisify } from 'node:util'

const derive = promisify<string, Buffer, number, ScryptOptions, Buffer>(scrypt)

/** Parameters of scrypt. */
export interface PasswordCost {
  N: number
  r: number
  p: number
}

const COST: PasswordCost = { N: 2 ** 15, r: 8, p: 3 }
const KEY_BYTES = 32
const SALT_BYTES = 16

const HASH = /^scrypt\$(\d{1,8})\$(\d{1,2})\$(\d{1,2})\$([A-Za-z0-9_-]{16,})\$([A-Za-z0-9_-]{32,})$/

interface Parsed extends PasswordCost {
  salt: Buffer
  key: Buffer
}

const parse = (hash: string): Parsed | undefined => {
  const [, N, r, p, salt, key] = HASH.exec(hash) ?? []
  if (N === undefined || r === undefined || p === undefined || salt === undefined || key === undefined) return undefined
  const cost = { N: Number(N), r: Number(r), p: Number(p) }
  // Node asks for a power of two; beyond 256 MB a hash from a file could stop a small machine.
  if (!Number.isInteger(Math.log2(cost.N)) || cost.N < 2 || cost.r < 1 || cost.p < 1 || 128 * cost.N * cost.r > 2 ** 28)
    return undefined
  return { ...cost, salt: Buffer.from(salt, 'base64url'), key: Buffer.from(key, 'base64url') }
}

const keyOf = (password: string, { N, r, p, salt, key }: Parsed): Promise<Buffer> =>
  // NFC: the same password typed on two keyboards must give the same bytes.
  derive(password.normalize('NFC'), salt, key.length, { N, r, p, maxmem: 2 ** 29 })

/** `scrypt$N$r$p$salt$key`, salt and key in base64url. */
export const hashPassword = async (password: string, cost: PasswordCost = COST): Promise<string> => {
  const salt = randomBytes(SALT_BYTES)
  const key = await keyOf(password, { ...cost, salt, key: Buffer.alloc(KEY_BYTES) })
  return `scrypt$${cost.N}$${cost.r}$${cost.p}$${salt.toString('base64url')}$${key.toString('base64url')}`
}

/** True where a hash was made at another cost than today's: it is made anew when the password is next at hand. */
export const isOutdatedHash = (hash: string, cost: PasswordCost = COST): boolean => {
  const parsed = parse(hash)
  return parsed === undefined || parsed.N !== cost.N || parsed.r !== cost.r || parsed.p !== cost.p
}

/** True where `password` is the one behind `hash`. */
export const verifyPassword = async (password: string, hash: string): Promise<boolean> => {
  const parsed = parse(hash)
  if (parsed === undefined) return false
  return timingSafeEqual(await keyOf(password, parsed), parsed.key)
}
