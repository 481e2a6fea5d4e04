/** How many joints were in register, in words. */
import type { RegisterView } from '../../edge/trend-views.ts'
import { say } from '../messages.ts'
import { formatLength, formatNumber } from '../units.ts'

const percent = (share: number): string => formatNumber(100 * share, 1)

export const registerInWords = ({ joints, in_register, metres, not_back }: RegisterView): string => {
  const good = Math.round(in_register.share * joints)
  const share = { share: percent(in_register.share), low: percent(in_register.low), high: percent(in_register.high) }
  const sentences = [say('register.answer', { good, joints, ...share })]
  if (metres > 0) sentences.push(say('register.metres', { length: formatLength(metres) }))
  if (not_back > 0) sentences.push(say('register.not_back', { count: not_back }))
  return sentences.join(' ')
}
