/** An outcome as shape and word: grey where all went well. */
import type { SpliceView } from '../../edge/api/messages.ts'
import { isCauseSaid, isOutcomeSaid, isTakenBack, type ListedVerdict, verdictOf } from '../../edge/splice-review.ts'
import { Icon, OUTCOME_ICON, type OutcomeName } from '../frame/icons.tsx'
import { say, sayName } from '../messages.ts'
import { causeInWords } from './summary.ts'

/** The verdict that counts; without one a record goes on, nobody goes on with it, or there was no such splice. */
export const outcomeName = (splice: Pick<SpliceView, 'outcome' | 'cause' | 'review' | 'closed'>): OutcomeName =>
  verdictOf(splice).outcome ?? (isTakenBack(splice) ? 'taken_back' : splice.closed ? 'cut_short' : 'open')

export const SpliceOutcome = ({ splice }: { splice: SpliceView }) => (
  <OutcomeBadge outcome={outcomeName(splice)} isSaid={isOutcomeSaid(splice)} />
)

const Said = () => <span class="said">{say('splice.people_said')}</span>

/** The cause that counts, marked where people gave another one. */
export const SpliceCause = ({ splice }: { splice: SpliceView }) => (
  <>
    {causeInWords(splice)}
    {isCauseSaid(splice) && (
      <>
        {' '}
        <Said />
      </>
    )}
  </>
)

/** The same of a splice in a list; a bad one without a cause says that. */
export const ListedCause = ({ cause, is_cause_said }: Pick<ListedVerdict, 'cause' | 'is_cause_said'>) => (
  <>
    {cause === null ? say('cause.unknown') : sayName('cause', cause)}
    {is_cause_said && (
      <>
        {' '}
        <Said />
      </>
    )}
  </>
)

export const OutcomeBadge = ({ outcome, isSaid = false }: { outcome: OutcomeName | null; isSaid?: boolean }) => {
  const name = outcome ?? 'open'
  return (
    <span class="outcome" data-outcome={name}>
      <Icon name={OUTCOME_ICON[name]} />
      {say(`outcome.${name}`)}
      {isSaid && <Said />}
    </span>
  )
}
