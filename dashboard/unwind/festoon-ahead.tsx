/** What the festoon will hold when the splice begins, against what the splice takes and what shall be left: one bar to scale. */
import type { UnwindView } from '../../edge/api/messages.ts'
import { say } from '../messages.ts'
import { formatLength, formatQuantity, missingLength, spareLength, speedAtMost } from '../units.ts'

export const FestoonAhead = ({ view }: { view: UnwindView }) => {
  const { buffer, buffer_needed: needed, buffer_margin: margin, buffer_stored: stored } = view
  if (buffer === null) return null
  const isKnown = needed !== null && margin !== null
  const atStart = isKnown ? needed + margin + buffer.reserve : null
  const share = (metres: number): number => (Math.max(0, Math.min(buffer.capacity, metres)) / buffer.capacity) * 100
  return (
    <section aria-labelledby="festoon-ahead">
      <h2 id="festoon-ahead">{say('ahead.title')}</h2>
      {!isKnown ? (
        <p class="question">{say(view.state === 'standing' ? 'ahead.standing' : 'ahead.unknown')}</p>
      ) : (
        <>
          <p class="ahead-words" data-short={margin < 0}>
            {margin < 0
              ? say('ahead.short', { length: missingLength(-margin) })
              : say('ahead.enough', { length: spareLength(margin) })}
            {margin < 0 && view.safe_speed !== null && view.safe_speed >= 1 && (
              <> {say('ahead.highest_speed', { speed: speedAtMost(view.safe_speed) })}</>
            )}
          </p>
          <div
            class="ahead"
            role="img"
            aria-label={say('ahead.drawing', {
              start: formatQuantity(atStart, 'length', 1),
              needed: formatQuantity(needed, 'length', 1),
              reserve: formatQuantity(buffer.reserve, 'length', 1),
              capacity: formatQuantity(buffer.capacity, 'length', 1),
            })}
          >
            <span>{say('ahead.at_start')}</span>
            <svg viewBox="0 0 100 10" preserveAspectRatio="none" aria-hidden="true">
              <rect class="ahead-room" width="100" height="10" />
              <rect class="ahead-there" width={share(atStart ?? 0)} height="10" />
            </svg>
            <span>{say('ahead.needed_reserve')}</span>
            <svg viewBox="0 0 100 10" preserveAspectRatio="none" aria-hidden="true">
              <rect class="ahead-need" width={share(needed)} height="10" />
              <rect
                class="ahead-reserve"
                x={share(needed)}
                width={share(needed + buffer.reserve) - share(needed)}
                height="10"
              />
            </svg>
          </div>
          <dl>
            <dt>{say('ahead.now')}</dt>
            <dd>{formatQuantity(stored, 'length', 1)}</dd>
            <dt>{say('ahead.at_start')}</dt>
            <dd>{formatQuantity(atStart, 'length', 1)}</dd>
            <dt>{say('ahead.needed')}</dt>
            <dd>{formatQuantity(needed, 'length', 1)}</dd>
            <dt>{say('ahead.reserve')}</dt>
            <dd>{formatLength(buffer.reserve)}</dd>
          </dl>
        </>
      )}
    </section>
  )
}
