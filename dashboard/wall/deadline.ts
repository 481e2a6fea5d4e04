/** How long people have before the next roll must be ready, from the estimate's early end. Seconds. */
import type { UnwindView } from '../../edge/api/messages.ts'

/** Below this share of the preparation left no roll gets ready any more: slow or stop. As the alarm `roll_not_ready` has it. */
export const TOO_LATE_SHARE = 0.5

export type Deadline = Pick<
  UnwindView,
  'seconds_low' | 'seconds_to_splice' | 'fill_lead_seconds' | 'preparation_seconds' | 'preparation'
>

/** Time until the roll must be ready (the fill's start at the early end of the interval); undefined without an estimate. */
export const secondsToReady = (view: Deadline): number | undefined => {
  const early = view.seconds_low ?? view.seconds_to_splice
  return early === null ? undefined : early - view.fill_lead_seconds
}

/** What preparing still takes: the usual time of the stages that are not done. */
export const preparationLeft = ({ preparation, preparation_seconds: whole }: Deadline): number => {
  const done = preparation.stages.filter(({ done_at }) => done_at !== null)
  return Math.max(0, whole - done.reduce((sum, { usual_seconds }) => sum + usual_seconds, 0))
}

/** Time until preparing has to begin; negative once it is late. */
export const slackSeconds = (view: Deadline): number | undefined => {
  const left = secondsToReady(view)
  return left === undefined ? undefined : left - preparationLeft(view)
}

export const isTooLateToPrepare = (view: Deadline): boolean => {
  const left = secondsToReady(view)
  return left !== undefined && left < TOO_LATE_SHARE * preparationLeft(view)
}
