/** What was set, served and called, in words. */
import type { LogEntry, ServiceView } from '../../edge/trend-views.ts'
import { hasMessage, say, sayName } from '../messages.ts'
import { formatNumber } from '../units.ts'

/** Less than the second decimal shows. */
const HALF_DIGIT = 0.005

/** Both with the same decimals: "from 240 to 208.50" reads as if one were measured better. */
const change = ({ from, to }: LogEntry): { from: string; to: string } => {
  const isWhole = [from, to].every((one) => typeof one !== 'number' || Math.abs(one - Math.round(one)) < HALF_DIGIT)
  const value = (one: LogEntry['from']): string =>
    typeof one === 'number' ? formatNumber(one, isWhole ? 0 : 2) : (one ?? say('value.unknown'))
  return { from: value(from), to: value(to) }
}

const settingName = (subject: string): string => {
  const own = subject.startsWith('extra.') ? subject.slice('extra.'.length) : subject
  const key = `setting.${own}`
  return hasMessage(key) ? say(key) : own.replaceAll('_', ' ')
}

/** A log entry in words. */
export const entryInWords = (entry: LogEntry, services: readonly ServiceView[] = []): string => {
  const { kind, subject, unit, note, side } = entry
  if (kind === 'setting') {
    return say('log.setting', { name: settingName(subject), ...change(entry), unit })
  }
  if (kind === 'service') {
    const name = services.find(({ item }) => item === subject)?.name ?? sayName('service', subject)
    return note === '' ? name : say('log.service', { name, note })
  }
  if (kind === 'note' || kind === 'note_closed' || kind === 'handover') return note
  const metric = sayName('trend', subject)
  const of = side === null ? metric : say('log.side', { metric, side })
  return say(`log.${kind}`, { metric: of, ...change(entry), unit })
}
