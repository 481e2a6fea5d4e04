/** Where the API may listen: beyond this machine only with a password, so that nobody opens a plant to its network by accident. */
import { isIP } from 'node:net'
import { LastwrapError } from '../errors.ts'

const LOOPBACK_V4 = /^127\.\d{1,3}\.\d{1,3}\.\d{1,3}$/

/** True for `localhost`, 127.0.0.0/8 (RFC 1122 3.2.1.3) and ::1 (RFC 4291 2.5.3), with or without brackets. */
export const isLoopback = (host: string): boolean => {
  const bare = host.replace(/^\[(.*)\]$/, '$1').toLowerCase()
  if (bare === 'localhost') return true
  if (isIP(bare) === 4) return LOOPBACK_V4.test(bare)
  if (isIP(bare) !== 6) return false
  return bare === '::1' || /^(0{1,4}:){7}0{0,3}1$/.test(bare) || /^::ffff:127\.\d{1,3}\.\d{1,3}\.\d{1,3}$/.test(bare)
}

/** Throws `not_allowed` where `host` is wider than loopback and no password is set. */
export const assertMayListen = (host: string, hasPassword: boolean): void => {
  if (hasPassword || isLoopback(host)) return
  throw new LastwrapError(
    'not_allowed',
    `web.listen is ${host}, which other machines can reach, but no password is set: set web.password_env or web.password_file, or listen on 127.0.0.1.`,
  )
}
