/**
 * Who needs hands next stands first: trouble, then the earliest time to begin preparing among rolls not ready, then the ready ones
 * by their splice, then what does not run, first of it where a splice went wrong. Lanes don't swap places for the estimate's jitter.
 */
import type { UnwindView } from '../../edge/api/messages.ts'
import { slackSeconds } from './deadline.ts'
import { overTrouble, troubleRank } from './trouble.ts'

/** Two lanes keep their places while their times differ by less, s. */
const STICKY_S = 5

interface Place {
  group: number
  seconds: number
}

const placeOf = (view: UnwindView): Place => {
  const trouble = troubleRank(view)
  const slack = slackSeconds(view)
  const seconds = slack ?? Number.POSITIVE_INFINITY
  const isOver = overTrouble(view).length > 0
  if (trouble !== undefined) return { group: trouble, seconds }
  if (view.state === 'unknown') return { group: 2, seconds: 0 }
  if (view.state === 'no_roll') return { group: 3, seconds: 0 }
  // A roll that is ready has nothing to be ready by: there the splice itself counts, and one that goes on comes first.
  const toSpliceS = view.state === 'splicing' ? 0 : view.seconds_to_splice
  if (view.state === 'splicing') return { group: 5, seconds: 0 }
  if (slack === undefined || toSpliceS === null) return { group: isOver ? 6 : 7, seconds: 0 }
  if (view.new_roll_ready !== true) return { group: 4, seconds }
  return { group: 5, seconds: toSpliceS }
}

export const orderLanes = (views: readonly UnwindView[], previous: readonly string[] = []): UnwindView[] => {
  const places = new Map(views.map((view) => [view.unwind, placeOf(view)]))
  const before = new Map(previous.map((unwind, index) => [unwind, index]))
  const compare = (a: UnwindView, b: UnwindView): number => {
    const [x, y] = [places.get(a.unwind)!, places.get(b.unwind)!]
    if (x.group !== y.group) return x.group - y.group
    return x.seconds === y.seconds ? 0 : x.seconds - y.seconds
  }
  const sorted = [...views].sort(compare)
  // Sorting with a tolerance is no order (a≈b, b≈c, a<c): sort strictly, then let near neighbours go back.
  for (let i = 0; i + 1 < sorted.length; i++) {
    const [first, second] = [sorted[i]!, sorted[i + 1]!]
    const [x, y] = [places.get(first.unwind)!, places.get(second.unwind)!]
    const was = [before.get(first.unwind), before.get(second.unwind)] as const
    const isNear = x.group === y.group && Math.abs(x.seconds - y.seconds) < STICKY_S
    if (isNear && was[0] !== undefined && was[1] !== undefined && was[1] < was[0]) {
      sorted[i] = second
      sorted[i + 1] = first
    }
  }
  return sorted
}

/** Cuts lanes into pages of `perPage`; as they come in order, trouble is on the first. */
export const toPages = <T>(lanes: readonly T[], perPage: number): T[][] => {
  const pages: T[][] = []
  for (let i = 0; i < lanes.length; i += perPage) pages.push(lanes.slice(i, i + perPage))
  return pages
}
