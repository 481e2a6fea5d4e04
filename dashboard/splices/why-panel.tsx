/** Why the splice went as it did, in the words of the evidence. */
import type { WhyView } from '../../edge/api/messages.ts'
import type { Thing } from '../../edge/splice-review.ts'
import { inWords } from '../daemon-words.ts'
import { say, sayName } from '../messages.ts'
import { figureOf, formatSpeed } from '../units.ts'

const comparedWith = ({ compared, side, speed_low, speed_high }: WhyView): string => {
  const [low, high] = [figureOf(speed_low, 'speed', 0), figureOf(speed_high, 'speed', 0)]
  const speeds =
    low === high ? formatSpeed(speed_high) : say('why.compared.speeds', { low, high: formatSpeed(speed_high) })
  const count = compared.length
  return side === null ? say('why.compared', { count, speeds }) : say('why.compared.side', { count, side, speeds })
}

interface WhyPanelProps {
  why: WhyView | undefined
  error: string | undefined
  /** What caused it, by people. */
  thing: Thing | null
}

export const WhyPanel = ({ why, error, thing }: WhyPanelProps) => (
  <section class="why" aria-labelledby="why" aria-busy={why === undefined && error === undefined}>
    <h2 id="why">{say('why.title')}</h2>
    {why !== undefined && (
      <>
        <p class="why-text" data-part="why">
          {inWords(why)}
          {thing !== null && ` ${say('why.said_thing', { thing: sayName('thing', thing) })}`}
        </p>
        {why.band !== null && <p class="why-compared">{comparedWith(why)}</p>}
      </>
    )}
    {error !== undefined && <p role="alert">{say('splice.failed', { reason: error })}</p>}
  </section>
)
