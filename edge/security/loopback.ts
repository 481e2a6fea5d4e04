/** Which addresses are this machine's own: only whoever is at it can ask there. */
import { isIP } from 'node:net'

const LOOPBACK_V4 = /^127\.\d{1,3}\.\d{1,3}\.\d{1,3}$/

/** True for `localhost`, 127.0.0.0/8 (RFC 1122 3.2.1.3) and ::1 (RFC 4291 2.5.3), with or without brackets. */
export const isLoopback = (host: string): boolean => {
  const bare = host.replace(/^\[(.*)\]$/, '$1').toLowerCase()
  if (bare === 'localhost') return true
  if (isIP(bare) === 4) return LOOPBACK_V4.test(bare)
  if (isIP(bare) !== 6) return false
  return bare === '::1' || /^(0{1,4}:){7}0{0,3}1$/.test(bare) || /^::ffff:127\.\d{1,3}\.\d{1,3}\.\d{1,3}$/.test(bare)
}
