/** When an alarm came that is over, and for how long it stood. */
import type { AlarmView } from '../../edge/api/messages.ts'
import { say } from '../messages.ts'
import { ageInWords, minutesWithZone } from '../times.ts'

/** "came 05:26, lasted 12 s": both ends in minutes may read the same. */
export const overWords = ({ raised, cleared }: Pick<AlarmView, 'raised' | 'cleared'>, zone: string): string =>
  say('alarms.was', {
    from: minutesWithZone(Date.parse(raised), zone),
    time: ageInWords(Math.max(0, Date.parse(cleared ?? raised) - Date.parse(raised)) / 1000),
  })
