/** The wall's common axis in times of day: now at the left, round times to the right. */
import { say } from '../messages.ts'
import { clockMinutes, clockSeconds, minutesWithZone } from '../times.ts'
import { clockMarks, type TimeAxis } from './time-axis.ts'

/** Behind this share of the axis stands its name, and no time through it. */
const NAME_FROM = 0.84

export const AxisMarks = ({ axis, tMs, zone }: { axis: TimeAxis; tMs: number; zone: string }) => {
  const clock = axis.markS % 60 === 0 ? clockMinutes : clockSeconds
  return (
    <div class="axis near" data-part="axis">
      <span style={{ left: '0%' }}>{say('axis.now_at', { time: minutesWithZone(tMs, zone) })}</span>
      {clockMarks(axis, tMs)
        .filter(({ seconds }) => seconds < NAME_FROM * axis.rangeS)
        .map(({ atTMs, seconds }) => (
          <span key={atTMs} style={{ left: `${((seconds / axis.rangeS) * 100).toFixed(2)}%` }}>
            {clock(atTMs, zone)}
          </span>
        ))}
      <em class="axis-end">{say('time.label')}</em>
    </div>
  )
}
