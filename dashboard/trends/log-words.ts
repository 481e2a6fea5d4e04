/** What was set, served and called, in words. */
import type { LogEntry, ServiceView } from '../../edge/trend-views.ts'
import { hasMessage, say, sayName } from '../messages.ts'
import { formatNumber, quantityOf, shownDecimals, toShown, unitOf } from '../units.ts'

/** Less than the second decimal shows. */
const HALF_DIGIT = 0.005

type Value = LogEntry['from']

/** All with the same decimals: "from 240 to 208.50" reads as if one were measured better. */
const inUnit = (values: readonly Value[], unit: string): { texts: string[]; unit: string } => {
  const quantity = quantityOf(unit)
  const shown = values.map((one) => (typeof one === 'number' && quantity !== undefined ? toShown(one, quantity) : one))
  const isWhole = shown.every((one) => typeof one !== 'number' || Math.abs(one - Math.round(one)) < HALF_DIGIT)
  // Inches have the same decimals here as in every other place.
  const least = quantity === undefined ? 0 : shownDecimals(0, quantity)
  const decimals =
    isWhole && least === 0
      ? 0
      : Math.max(quantity === 'speed' ? 1 : 2, quantity === undefined ? 0 : shownDecimals(1, quantity))
  const text = (one: Value): string =>
    typeof one === 'number' ? formatNumber(one, decimals) : (one ?? say('value.unknown'))
  return { texts: shown.map(text), unit: quantity === undefined ? unit : unitOf(quantity) }
}

const change = ({ from: was, to: is, unit: own }: LogEntry): { from: string; to: string; unit: string } => {
  const { texts, unit } = inUnit([was, is], own)
  return { from: texts[0]!, to: texts[1]!, unit }
}

/** So many values are listed one by one. */
const MOST_STEPS = 6

const settingName = (subject: string): string => {
  const own = subject.startsWith('extra.') ? subject.slice('extra.'.length) : subject
  const key = `setting.${own}`
  return hasMessage(key) ? say(key) : own.replaceAll('_', ' ')
}

/** What is changed or cleaned: as the site calls it, else by its usual name in this language. */
export const serviceName = ({ item, name, has_own_name: isOwn }: ServiceView): string =>
  isOwn ? name : sayName('service', item)

/** A setting that went to and fro: how often, and over which values. @param entries - newest first, at least two */
export const settingOften = (entries: readonly LogEntry[]): string => {
  const [newest, oldest] = [entries[0]!, entries.at(-1)!]
  const values = [oldest.from, ...entries.map(({ to }) => to).reverse()]
  const common = { name: settingName(newest.subject), count: entries.length }
  if (oldest.from === newest.to && values.length > MOST_STEPS)
    return say('log.setting_back', { ...common, ...change(newest) })
  if (values.length <= MOST_STEPS) {
    const { texts, unit } = inUnit(values, newest.unit)
    return say('log.setting_steps', { ...common, steps: texts.join(' → '), unit })
  }
  const numbers = values.filter((one) => typeof one === 'number')
  if (numbers.length === 0) return say('log.setting_often', { ...common, ...change({ ...newest, from: oldest.from }) })
  const ends = [Math.min(...numbers), Math.max(...numbers), oldest.from, newest.to]
  const { texts, unit } = inUnit(ends, newest.unit)
  return say('log.setting_range', { ...common, low: texts[0]!, high: texts[1]!, from: texts[2]!, to: texts[3]!, unit })
}

/** A service that was taken back says so where it stands; who took it back is a line of its own only where it does not. */
export const shownLog = (log: readonly LogEntry[]): LogEntry[] =>
  log.filter(
    ({ kind, unwind, subject, from }) =>
      kind !== 'service_taken_back' ||
      !log.some(
        (one) => one.kind === 'service' && one.unwind === unwind && one.subject === subject && one.time === from,
      ),
  )

/** A log entry in words. */
export const entryInWords = (entry: LogEntry, services: readonly ServiceView[] = []): string => {
  const { kind, subject, note, side } = entry
  if (kind === 'setting') {
    return say('log.setting', { name: settingName(subject), ...change(entry) })
  }
  if (kind === 'service' || kind === 'service_taken_back') {
    const service = services.find(({ item }) => item === subject)
    const name = service === undefined ? sayName('service', subject) : serviceName(service)
    if (kind === 'service_taken_back') return say('log.service_taken_back', { name })
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
