/** Secrets that this monitor gives out itself: random, and kept as a digest only, so that a copy of the file opens nothing. */
import { createHash, randomBytes, timingSafeEqual } from 'node:crypto'

/** 256 bits, which nobody guesses; that is why a plain digest does where a password needs a slow one. */
const TOKEN_BYTES = 32

export const newToken = (): string => randomBytes(TOKEN_BYTES).toString('base64url')

export const digestOf = (token: string): string => createHash('sha256').update(token).digest('base64url')

export const isSameDigest = (a: string, b: string): boolean =>
  a.length === b.length && timingSafeEqual(Buffer.from(a), Buffer.from(b))
