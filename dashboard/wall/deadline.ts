/** How long people have before the next roll must be ready, from the estimate's early end. Seconds. */
import type { UnwindView } from '../../edge/api/messages.ts'

export type Deadline = Pick<
  UnwindView,
  'seconds_low' | 'seconds_to_splice' | 'fill_lead_seconds' | 'preparation' | 'job_end'
>

/** Time until the roll must be ready (the fill's start at the early end of the interval); undefined without an estimate, or need. */
export const secondsToReady = (view: Deadline): number | undefined => {
  if (view.job_end !== null) return undefined
  const early = view.seconds_low ?? view.seconds_to_splice
  return early === null ? undefined : early - view.fill_lead_seconds
}

/** Time until preparing has to begin; negative once it is late. */
export const slackSeconds = (view: Deadline): number | undefined => {
  const left = secondsToReady(view)
  return left === undefined ? undefined : left - view.preparation.left_seconds
}

/** With less time than the least that preparing takes no roll gets ready: slow or stop. As the alarm `roll_not_ready` has it. */
export const isTooLateToPrepare = (view: Deadline): boolean => {
  const left = secondsToReady(view)
  return left !== undefined && left < view.preparation.least_seconds
}
