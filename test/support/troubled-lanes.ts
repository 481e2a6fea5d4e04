/** Four lanes with all that a wall may have to say at once, longest words included: for legibility in every language. */
import type { AlarmView, UnwindView } from '../../edge/api/messages.ts'
import type { AlarmId } from '../../edge/columns.ts'
import { siteMessages } from '../../edge/languages.ts'
import type { Messages } from '../../edge/messages/message.ts'
import type { Parameters } from '../../edge/messages/render.ts'
import { alarmView } from './alarm-view.ts'
import { calmLanes } from './calm-lanes.ts'

/** As a daemon of that language would say it. */
const told =
  (messages: Messages, raised: string) =>
  (alarm: AlarmId, text: string, parameters: Parameters, fields: Partial<AlarmView> = {}): AlarmView => {
    const key = `alarm.${text}`
    const [what, action] = [messages(`${key}.what`, parameters), messages(`${key}.action`, parameters)]
    return alarmView({
      ...{ id: alarm, alarm, raised, action, words: { key, parameters } },
      ...{ text: `${what} ${action}`, short: messages(`${key}.short`, parameters) },
      ...fields,
    })
  }

/** What one lane has to say beside its calm self. */
export type LaneTrouble = (alarm: ReturnType<typeof told>, view: UnwindView) => Partial<UnwindView>

const over = (view: UnwindView): Partial<AlarmView> => ({ cleared: view.time, state: 'returned_unacknowledged' })
const speed = (value: number) => ({ value, quantity: 'speed', decimals: 0, round: 'down' }) as const
const refused = (view: UnwindView) => ({ ...view.preparation, ready: true, missing: 'wrong_roll' }) as const

/** Each set fills four lanes. */
export const TROUBLES: Readonly<Record<string, readonly LaneTrouble[]>> = {
  'before a splice': [
    (alarm) => ({
      new_roll_ready: false,
      alarms: [alarm('roll_not_ready', 'roll_not_ready.slow', { speed: speed(165) })],
    }),
    (alarm) => ({
      buffer_margin: -2,
      safe_speed: 244,
      alarms: [
        alarm('buffer_short', 'buffer_short.slow', { speed: speed(240), short: { value: 2, quantity: 'length' } }),
      ],
    }),
    (alarm) => ({ splicer_auto: false, alarms: [alarm('splicer_not_auto', 'splicer_not_auto.fault_stop', {})] }),
    (_alarm, view) => ({ preparation: refused(view) }),
  ],
  'at a splice and after': [
    (alarm, view) => ({
      left_to_core: { metres: 40, seconds: 9 },
      next_flag: { metres: 20, seconds: 305 },
      alarms: [
        alarm('splice_overdue', 'splice_overdue', {}),
        alarm('splice_failed', 'splice_failed', { cause: { key: 'cause.web_break' } }, over(view)),
      ],
    }),
    (alarm) => ({ alarms: [alarm('wrong_roll_spliced', 'wrong_roll_spliced', { fault: { key: 'roll.fault.hold' } })] }),
    (alarm, view) => ({ alarms: [alarm('web_break', 'web_break', {}, over(view))] }),
    (alarm) => ({ alarms: [alarm('buffer_not_recovering', 'buffer_not_recovering', {})] }),
  ],
  'of a reading': [
    (alarm) => ({ alarms: [alarm('diameter_implausible', 'diameter_implausible.out_of_range', {})] }),
    (alarm) => ({ alarms: [alarm('diameter_not_reset', 'diameter_not_reset', {}, { priority: 'medium' })] }),
    (alarm) => ({
      alarms: [
        alarm('buffer_not_filling', 'buffer_not_filling', { short: { value: 10.5, quantity: 'length' } }),
        alarm('splicer_not_auto', 'splicer_not_auto.due', {}),
      ],
    }),
    (alarm) => ({
      alarms: [alarm('source_lost', 'source_lost', { signal: 'buffer position', source: 'hall_broker' })],
    }),
  ],
}

/** @param language - of the site, whose words the daemon sends. */
export const troubledLanes = (
  troubles: readonly LaneTrouble[],
  language = 'en',
): ((views: UnwindView[]) => UnwindView[]) => {
  const lanes = calmLanes(troubles.length)
  const messages = siteMessages(language)
  let raised: string | undefined
  return (views) =>
    lanes(views).map((view, index) => {
      raised ??= view.time
      const alarm = told(messages, raised)
      const trouble = troubles[index]!(
        (id, text, parameters, fields) => ({
          ...alarm(id, text, parameters, fields),
          id: `${view.unwind}-${id}`,
          unwind: view.unwind,
        }),
        { ...view, time: raised },
      )
      return { ...view, ...trouble }
    })
}
