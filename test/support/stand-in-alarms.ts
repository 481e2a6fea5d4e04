/** The stand-in's alarms: some that came before, and what people and the test do about them. */
import type { AlarmFilter, AlarmView, Command } from '../../edge/api/messages.ts'
import type { AlarmEventName, AlarmId, AlarmRow, Priority } from '../../edge/columns.ts'
import { createMessages } from '../../edge/messages/message.ts'
import { lengthM, type Parameters, speedAtMostMpm, type Words } from '../../edge/messages/render.ts'
import { alarmView } from './alarm-view.ts'

const iso = (tMs: number): string => new Date(tMs).toISOString()
const messages = createMessages('en', { strict: true })

type Said = Pick<AlarmView, 'text' | 'words' | 'short' | 'action'>

/** The texts of an alarm, as the daemon sends them. */
export const saying = (key: string, parameters: Parameters = {}): Said => {
  const action = messages(`${key}.action`, parameters)
  return {
    text: `${messages(`${key}.what`, parameters)} ${action}`,
    words: { key, parameters },
    short: messages(`${key}.short`, parameters),
    action,
  }
}

export class StandInAlarms {
  readonly #all: AlarmView[] = []
  readonly #told: (row: AlarmRow) => void

  constructor(startMs: number, told: (row: AlarmRow) => void) {
    this.#told = told
    const minutesAgo = (minutes: number): number => startMs - minutes * 60_000
    this.raise('source_lost', 'sack_line', 'high', minutesAgo(6), {
      ...saying('alarm.source_lost', { signal: 'line speed', source: 'hall_broker', address: 'sack/line#speed' }),
      value: 360,
      limit: 10,
    })
    const short = this.raise('buffer_short', 'laminator_inner', 'high', minutesAgo(3), {
      ...saying('alarm.buffer_short.slow', { short: lengthM(1.8, { round: 'up' }), speed: speedAtMostMpm(165) }),
      value: -1.8,
      limit: 0,
    })
    this.#acknowledge(short, 'Crew B', 'slowing at the job change', minutesAgo(2))
    const gone = this.raise(
      'splice_failed',
      'label_press',
      'medium',
      minutesAgo(31),
      saying('alarm.splice_failed', { cause: { key: 'cause.web_break' } }),
    )
    this.clear(gone, minutesAgo(25))
    const past = this.raise('caliper_off_label', 'label_press', 'low', minutesAgo(80), {
      ...saying('alarm.caliper_off_label', { percent: 7, direction: { key: 'direction.thinner' } }),
      value: 74.2,
      limit: 75.2,
    })
    this.#acknowledge(past, 'Crew A', '', minutesAgo(79))
    this.clear(past, minutesAgo(60))
  }

  list(filter: AlarmFilter): AlarmView[] {
    return this.#all
      .filter(
        (alarm) =>
          (filter.unwind === undefined || alarm.unwind === filter.unwind) &&
          (filter.standing !== true || (alarm.state !== 'normal' && alarm.shelved_until === null)),
      )
      .slice(0, filter.limit)
  }

  aside(): AlarmView[] {
    return this.#all.filter(({ shelved_until }) => shelved_until !== null)
  }

  /** The one of that kind that stands. */
  open(id: AlarmId): AlarmView | undefined {
    return this.#all.find(({ alarm, cleared }) => alarm === id && cleared === null)
  }

  command(command: Extract<Command, { alarm: AlarmId }>, nowMs: number): Words | undefined {
    if (command.kind === 'acknowledge') {
      const alarm = this.#all.find(
        ({ unwind, alarm, state }) => unwind === command.unwind && alarm === command.alarm && state !== 'normal',
      )
      if (alarm === undefined) return { key: 'refusal.alarm_gone' }
      this.#acknowledge(alarm, command.person, command.comment, nowMs)
      return undefined
    }
    const alarm = this.#all.find((one) => one.unwind === command.unwind && one.alarm === command.alarm)
    if (alarm === undefined) return { key: 'refusal.alarm_gone' }
    const isEnd = command.seconds === 0
    alarm.shelved_until = isEnd ? null : iso(nowMs + 1000 * command.seconds)
    alarm.shelved_by = isEnd ? null : command.person
    this.tell(alarm, isEnd ? 'unshelved' : 'shelved', nowMs)
    return undefined
  }

  raise(
    alarm: AlarmId,
    unwind: string,
    priority: Priority,
    tMs: number,
    what: Said & { value?: number; limit?: number },
  ): AlarmView {
    const view = alarmView({
      ...{ id: `${unwind}-${alarm}-${tMs}`, unwind, alarm, priority, raised: iso(tMs) },
      ...{ value: what.value ?? null, limit: what.limit ?? null },
      text: what.text,
      ...(what.words !== undefined && { words: what.words }),
      short: what.short,
      action: what.action,
    })
    this.#all.unshift(view)
    this.#all.sort((a, b) => b.raised.localeCompare(a.raised))
    this.tell(view, 'raised', tMs)
    return view
  }

  #acknowledge(view: AlarmView, person: string, comment: string, tMs: number): void {
    if (view.acknowledged !== null) {
      // As the daemon does: the first counts, and what the second has to say is kept.
      if (comment !== '')
        view.comment = [view.comment, `${person}: ${comment}`].filter((text) => text !== null).join('; ')
      return
    }
    view.state = view.cleared === null ? 'acknowledged' : 'normal'
    view.acknowledged = iso(tMs)
    view.acknowledged_by = person
    view.comment = comment === '' ? null : comment
    this.tell(view, 'acknowledged', tMs)
  }

  clear(view: AlarmView, tMs: number): void {
    view.state = view.acknowledged === null ? 'returned_unacknowledged' : 'normal'
    view.cleared = iso(tMs)
    this.tell(view, 'cleared', tMs)
  }

  tell(view: AlarmView, event: AlarmEventName, tMs: number): void {
    const { unwind, alarm, priority, value, limit, text } = view
    this.#told({ time: iso(tMs), unwind, alarm, event, priority, value, limit, text })
  }
}
