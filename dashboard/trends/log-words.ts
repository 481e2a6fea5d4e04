/** What was set, served and called, in words. */
import type { LogEntry, ServiceView } from '../../edge/trend-views.ts'
import { hasMessage, say, sayName } from '../messages.ts'
import { formatNumber } from '../units.ts'

const value = (one: LogEntry['from']): string =>
  typeof one === 'number' ? formatNumber(one, Number.isInteger(one) ? 0 : 2) : (one ?? say('value.unknown'))

const settingName = (subject: string): string => {
  const own = subject.startsWith('extra.') ? subject.slice('extra.'.length) : subject
  const key = `setting.${own}`
  return hasMessage(key) ? say(key) : own.replaceAll('_', ' ')
}

/** A log entry in words. */
export const entryInWords = (entry: LogEntry, services: readonly ServiceView[] = []): string => {
  const { kind, subject, from, to, unit, note, side } = entry
  if (kind === 'setting') {
    return say('log.setting', { name: settingName(subject), from: value(from), to: value(to), unit })
  }
  if (kind === 'service') {
    const name = services.find(({ item }) => item === subject)?.name ?? sayName('service', subject)
    return note === '' ? name : say('log.service', { name, note })
  }
  if (kind === 'note' || kind === 'note_closed' || kind === 'handover') return note
  const metric = sayName('trend', subject)
  const of = side === null ? metric : say('log.side', { metric, side })
  return say(`log.${kind}`, { metric: of, from: value(from), to: value(to), unit })
}
