/** When the time to a splice means something. Pure. */
import type { UnwindView } from '../../edge/api/messages.ts'

const COUNTING = new Set(['running', 'filling', 'refilling'])

/** The line is made ready by hand: the time to a splice means nothing. */
export const isThreading = ({ line_state: line, state }: Pick<UnwindView, 'line_state' | 'state'>): boolean =>
  (line === 'thread' || line === 'jog') && state !== 'splicing' && state !== 'unknown'

export const isCounting = (view: Pick<UnwindView, 'line_state' | 'state' | 'seconds_to_splice'>): boolean =>
  COUNTING.has(view.state) && view.seconds_to_splice !== null && !isThreading(view)

/** Its splice is overdue while the line runs. */
export const isCountedToCore = (view: Pick<UnwindView, 'line_state' | 'state' | 'left_to_core'>): boolean =>
  view.left_to_core !== null && COUNTING.has(view.state) && !isThreading(view)
