/** The forecast as it would be at another speed. It changes nothing, and never advises to go faster. */
import { useState } from 'preact/hooks'
import type { UnwindView, WhatIfView } from '../../edge/api/messages.ts'
import { usePolled } from '../frame/parts.tsx'
import { say } from '../messages.ts'
import { ageInWords, formatTimeLeft, toStep } from '../times.ts'
import { formatSpeed, missingLength, spareLength } from '../units.ts'
import { readinessShown, readyWords } from '../wall/lane-words.ts'

const EVERY_S = 5
/** From here on hours are said, s. */
const LONG_S = 7200
const STEP = 5
/** Where the slider begins while the line stands, m/min: a speed at which most lines can run. */
const STANDING_SPEED = 100

const timeText = (seconds: number | null): string => {
  if (seconds === null) return say('time.none')
  if (seconds >= LONG_S) return ageInWords(seconds)
  const { figures, unit } = formatTimeLeft(toStep(seconds))
  return `${figures} ${unit}`
}

export const WhatIf = ({ view }: { view: UnwindView }) => {
  const now = view.line_speed ?? 0
  // The slider's end stays where it is while the line's speed moves a little.
  const most = Math.max(100, Math.ceil((1.25 * Math.max(now, view.safe_speed ?? 0)) / 50) * 50)
  const [chosen, setChosen] = useState<number>()
  const speed = chosen ?? (now < STEP ? STANDING_SPEED : Math.round(now / STEP) * STEP)
  const { data } = usePolled<WhatIfView>(
    view.metres_to_splice === null
      ? undefined
      : `api/unwinds/${encodeURIComponent(view.unwind)}/what-if?speed=${speed}`,
    EVERY_S,
  )
  return (
    <section aria-labelledby="what-if" class="what-if gloves">
      <h2 id="what-if">{say('whatif.title')}</h2>
      {view.metres_to_splice === null ? (
        <p class="question">{say('whatif.unknown')}</p>
      ) : (
        <>
          <label>
            <span>
              {say('whatif.speed')} <strong>{formatSpeed(speed)}</strong>
              {now > 0 && <span class="question"> {say('whatif.now', { speed: formatSpeed(now) })}</span>}
            </span>
            <input
              type="range"
              min={STEP}
              max={most}
              step={STEP}
              value={speed}
              aria-valuetext={formatSpeed(speed)}
              onInput={(event) => setChosen(Number(event.currentTarget.value))}
            />
            <span class="question what-if-ends" aria-hidden="true">
              <span>{formatSpeed(STEP)}</span>
              <span>{formatSpeed(most)}</span>
            </span>
          </label>
          {data !== undefined && (
            <dl data-part="what-if" data-speed={data.speed}>
              <dt>{say('whatif.splice_in')}</dt>
              <dd>{timeText(data.seconds_to_splice)}</dd>
              <dt>{say('whatif.ready_in')}</dt>
              <dd>{readinessShown(view) === 'yes' ? readyWords(view) : timeText(data.must_be_ready_seconds)}</dd>
              {view.buffer !== null && (
                <>
                  <dt>{say('whatif.festoon')}</dt>
                  <dd>
                    {data.buffer_margin === null
                      ? say('time.none')
                      : data.buffer_margin < 0
                        ? say('ahead.short', { length: missingLength(-data.buffer_margin) })
                        : say('ahead.enough', { length: spareLength(data.buffer_margin) })}
                  </dd>
                </>
              )}
            </dl>
          )}
          <p class="question">{say('whatif.caution')}</p>
          {chosen !== undefined && (
            <button type="button" onClick={() => setChosen(undefined)}>
              {say('whatif.back')}
            </button>
          )}
        </>
      )}
    </section>
  )
}
