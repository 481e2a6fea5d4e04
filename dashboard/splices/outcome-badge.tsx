/** An outcome as shape and word: grey where all went well. */
import type { Outcome } from '../../edge/columns.ts'
import { Icon, OUTCOME_ICON } from '../frame/icons.tsx'
import { say } from '../messages.ts'

export const OutcomeBadge = ({ outcome, isSaid = false }: { outcome: Outcome | null; isSaid?: boolean }) => {
  const name = outcome ?? 'open'
  return (
    <span class="outcome" data-outcome={name}>
      <Icon name={OUTCOME_ICON[name]} />
      {say(`outcome.${name}`)}
      {isSaid && <span class="said">{say('splice.people_said')}</span>}
    </span>
  )
}
