/** Where the joints of the unwinds of one line will be, in metres of line from now, drawn to scale; and what would meet. */
import type { LineView } from '../../edge/api/messages.ts'
import { Icon } from '../frame/icons.tsx'
import { useLiveValue } from '../frame/live-context.ts'
import { Age } from '../frame/parts.tsx'
import { say } from '../messages.ts'
import { formatLength, formatNumber } from '../units.ts'

const Rows = ({ line, nameOf }: { line: LineView; nameOf: (unwind: string) => string }) => {
  const unwinds = [...new Set(line.joints.map(({ unwind }) => unwind))]
  const farthest = Math.max(1, ...line.joints.map(({ metres_high: high }) => high))
  const x = (metres: number): number => (Math.max(0, metres) / farthest) * 100
  return (
    <div class="joints">
      {unwinds.map((unwind) => (
        <div class="joints-row" key={unwind}>
          <span>{nameOf(unwind)}</span>
          <svg
            viewBox="0 0 100 12"
            preserveAspectRatio="none"
            role="img"
            aria-label={say('joints.drawing', {
              unwind: nameOf(unwind),
              metres: line.joints
                .filter((joint) => joint.unwind === unwind)
                .map(({ metres }) => formatNumber(metres, 0))
                .join(', '),
            })}
          >
            <path class="joints-web" d="M0 6H100" />
            {line.joints
              .filter((joint) => joint.unwind === unwind)
              .map(({ number, metres, metres_low: low, metres_high: high }) => (
                <g key={number}>
                  <rect class="joints-blur" x={x(low)} y="2" width={Math.max(0.3, x(high) - x(low))} height="8" />
                  <rect class="joints-mark" x={x(metres) - 0.15} y="0" width="0.3" height="12" />
                </g>
              ))}
          </svg>
        </div>
      ))}
      <div class="joints-row joints-scale" aria-hidden="true">
        <span />
        <span>
          <span>{say('time.now')}</span>
          <span>{formatLength(farthest)}</span>
        </span>
      </div>
    </div>
  )
}

export const LineJoints = ({ unwind, lines }: { unwind: string; lines: readonly LineView[] | undefined }) => {
  const unwinds = useLiveValue((store) => store.state.unwinds)
  const line = lines?.find(
    ({ joints, unknown }) => unknown.includes(unwind) || joints.some((joint) => joint.unwind === unwind),
  )
  if (line === undefined) return null
  const nameOf = (id: string): string => unwinds.find((view) => view.unwind === id)?.name ?? id.replaceAll('_', ' ')
  return (
    <section aria-labelledby="line-joints">
      <h2 id="line-joints">{say('joints.title', { line: line.name })}</h2>
      <Rows line={line} nameOf={nameOf} />
      {line.meetings.length === 0 ? (
        <p class="question">{say('joints.apart', { separation: formatLength(line.joint_separation) })}</p>
      ) : (
        <ul class="meetings">
          {line.meetings.map((meeting) => (
            <li
              key={`${meeting.first.unwind} ${meeting.first.number} ${meeting.second.unwind} ${meeting.second.number}`}
            >
              <Icon name="medium" />
              <span>
                {say('joints.meet', {
                  first: nameOf(meeting.first.unwind),
                  second: nameOf(meeting.second.unwind),
                  metres: formatLength(meeting.metres),
                  gap: formatLength(meeting.gap.value),
                  percent: formatNumber(100 * meeting.probability, 0),
                })}{' '}
                {meeting.advice !== null &&
                  say('joints.advice', {
                    unwind: nameOf(meeting.advice.unwind),
                    early: formatLength(meeting.advice.early_metres),
                  })}
              </span>
            </li>
          ))}
        </ul>
      )}
      <p class="question">
        {say('joints.caution')} <Age time={line.time} />
      </p>
    </section>
  )
}
