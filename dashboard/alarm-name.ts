/** What an alarm is called: by the daemon, with its cause, where that speaks the reader's language; else by our own words. */
import type { AlarmView } from '../edge/api/messages.ts'
import { sayName, speaksAsSite } from './messages.ts'

export const alarmName = ({ alarm, short }: Pick<AlarmView, 'alarm' | 'short'>): string =>
  speaksAsSite() && short != null ? short : sayName('alarm', alarm)
