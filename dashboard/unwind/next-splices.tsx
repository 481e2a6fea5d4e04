/** The next splices of this unwind and how many rolls have to be staged for them. */
import type { AdviceView } from '../../edge/api/messages.ts'
import { useLiveValue } from '../frame/live-context.ts'
import { Age } from '../frame/parts.tsx'
import { say } from '../messages.ts'
import { clockMinutes, formatSpread, zoneName } from '../times.ts'
import { aboutCount, formatLength, unitOf } from '../units.ts'

/** More do not help anybody who fetches rolls. */
const SHOWN = 6

export const NextSplices = ({ advice, fills }: { advice: AdviceView | undefined; fills: boolean }) => {
  const zone = useLiveValue((store) => store.state.health?.time_zone ?? 'UTC')
  if (advice === undefined) return null
  const baseTMs = Date.parse(advice.time)
  return (
    <section aria-labelledby="next-splices">
      <h2 id="next-splices">{say('next.title')}</h2>
      {advice.next_splices.length === 0 ? (
        <p class="question">
          {say(advice.job !== null ? 'next.job_ends' : advice.rolls_to_stage === null ? 'next.unknown' : 'next.none')}
        </p>
      ) : (
        <>
          <p>
            {advice.rolls_to_stage === null
              ? say('next.stage_unknown')
              : advice.job === null
                ? say('next.stage', { count: aboutCount(advice.rolls_to_stage) })
                : say('next.stage_job', { count: advice.rolls_to_stage })}
          </p>
          <div class="list-box">
            <table class="list">
              <thead>
                <tr>
                  <th scope="col">{say('next.at', { zone: zoneName(baseTMs, zone) })}</th>
                  <th scope="col" class="number">
                    {say('next.in', { unit: unitOf('length') })}
                  </th>
                  <th scope="col">{say('next.roll')}</th>
                </tr>
              </thead>
              <tbody>
                {advice.next_splices.slice(0, SHOWN).map((splice) => (
                  <tr key={splice.metres}>
                    <th scope="row">
                      {splice.seconds === null
                        ? say('time.stopped')
                        : clockMinutes(baseTMs + splice.seconds * 1000, zone)}
                      {splice.seconds_high !== null && splice.seconds_low !== null && (
                        <span class="question">
                          {' '}
                          {say('unwind.uncertain', {
                            time: formatSpread((splice.seconds_high - splice.seconds_low) / 2),
                          })}
                        </span>
                      )}
                    </th>
                    <td class="number">{formatLength(splice.metres)}</td>
                    <td>
                      {say(`next.ends.${splice.roll}`, {
                        material: splice.material === '' ? say('next.any') : splice.material,
                      })}
                      {splice.too_short && <strong> {say('next.too_short')}</strong>}
                    </td>
                  </tr>
                ))}
              </tbody>
            </table>
          </div>
          {advice.job !== null && advice.next_splices.length <= SHOWN && (
            <p class="question">{say('next.until_job')}</p>
          )}
          {fills && <p class="question">{say('next.in.why')}</p>}
          <Age time={advice.time} />
        </>
      )}
    </section>
  )
}
