/** An alarm as the daemon tells it: new, unacknowledged and standing, but for what is given. */
import type { AlarmView } from '../../edge/api/messages.ts'

export const alarmView = (fields: Partial<AlarmView> = {}): AlarmView => ({
  id: 'label_press-roll_not_ready-1772431200000',
  unwind: 'label_press',
  alarm: 'roll_not_ready',
  priority: 'high',
  state: 'unacknowledged',
  raised: '2026-03-02T06:00:00.000Z',
  cleared: null,
  acknowledged: null,
  acknowledged_by: null,
  comment: null,
  suppressed: false,
  shelved_until: null,
  shelved_by: null,
  value: null,
  limit: null,
  text: 'The next roll is not ready.',
  ...fields,
})
