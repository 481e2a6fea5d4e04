/** What an alarm is called: with its cause, in the reader's language; where that is not to be had, by our own words. */
import type { AlarmView } from '../edge/api/messages.ts'
import { alarmShort } from './daemon-words.ts'
import { sayName } from './messages.ts'

export const alarmName = (alarm: Pick<AlarmView, 'alarm' | 'short' | 'words'>): string =>
  alarmShort(alarm) ?? sayName('alarm', alarm.alarm)
