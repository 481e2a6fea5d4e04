/** What was set, served and called, in words. */
import type { LogEntry, ServiceView } from '../../edge/trend-views.ts'
import { hasMessage, say, sayName } from '../messages.ts'
import { formatNumber, quantityOf, shownDecimals, toShown, unitOf } from '../units.ts'

/** Less than the second decimal shows. */
const HALF_DIGIT = 0.005

/** Both with the same decimals: "from 240 to 208.50" reads as if one were measured better. */
const change = ({ from: was, to: is, unit }: LogEntry): { from: string; to: string; unit: string } => {
  const quantity = quantityOf(unit)
  const shown = (one: LogEntry['from']) =>
    typeof one === 'number' && quantity !== undefined ? toShown(one, quantity) : one
  const [from, to] = [shown(was), shown(is)]
  const isWhole = [from, to].every((one) => typeof one !== 'number' || Math.abs(one - Math.round(one)) < HALF_DIGIT)
  // Inches have the same decimals here as in every other place.
  const least = quantity === undefined ? 0 : shownDecimals(0, quantity)
  const decimals = isWhole && least === 0 ? 0 : Math.max(2, quantity === undefined ? 0 : shownDecimals(1, quantity))
  const value = (one: LogEntry['from']): string =>
    typeof one === 'number' ? formatNumber(one, decimals) : (one ?? say('value.unknown'))
  return { from: value(from), to: value(to), unit: quantity === undefined ? unit : unitOf(quantity) }
}

const settingName = (subject: string): string => {
  const own = subject.startsWith('extra.') ? subject.slice('extra.'.length) : subject
  const key = `setting.${own}`
  return hasMessage(key) ? say(key) : own.replaceAll('_', ' ')
}

/** What is changed or cleaned: as the site calls it, else by its usual name in this language. */
export const serviceName = ({ item, name, has_own_name: isOwn }: ServiceView): string =>
  isOwn ? name : sayName('service', item)

/** A setting that went to and fro: how often, what it was at first and what it is now. @param entry - newest, with the oldest `from` */
export const settingOften = (entry: LogEntry, count: number): string =>
  say('log.setting_often', { name: settingName(entry.subject), count, ...change(entry) })

/** A log entry in words. */
export const entryInWords = (entry: LogEntry, services: readonly ServiceView[] = []): string => {
  const { kind, subject, note, side } = entry
  if (kind === 'setting') {
    return say('log.setting', { name: settingName(subject), ...change(entry) })
  }
  if (kind === 'service') {
    const service = services.find(({ item }) => item === subject)
    const name = service === undefined ? sayName('service', subject) : serviceName(service)
    return note === '' ? name : say('log.service', { name, note })
  }
  if (kind === 'note' || kind === 'note_closed' || kind === 'handover') return note
  const metric = sayName('trend', subject)
  const of = side === null ? metric : say('log.side', { metric, side })
  if (kind === 'since_setting') {
    const name = note.split(', ').map(settingName).join(', ')
    return say('log.since_setting', { metric: of, ...change(entry), name })
  }
  return say(`log.${kind}`, { metric: of, ...change(entry) })
}
