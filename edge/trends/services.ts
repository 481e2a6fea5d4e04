/** How far a service item is used up: splices since, against the configured or the habitual count, and what failed when. Pure. */
import { median } from '../estimators/statistics.ts'
import type { ServiceView } from '../trend-views.ts'
import { wilson } from './control-charts.ts'

/** So many times people must have done it before their habit is a count. */
const HABIT_AFTER = 3
/** Splices of a half before its failures are a share. */
const LEAST_OF_HALF = 50

/** Splices and failures between one service and the next, in two halves of the time between. */
export interface ServiceSpan {
  early: { splices: number; failures: number }
  late: { splices: number; failures: number }
}

type Used = Pick<
  ServiceView,
  'splices' | 'failures' | 'limit' | 'limit_by' | 'is_due' | 'failures_early' | 'failures_late'
>

/** @param done - between services, any order; `now` - since the last one. */
export function serviceUse(
  done: readonly ServiceSpan[],
  now: { splices: number; failures: number },
  configured: number | undefined,
): Used {
  const counts = done.map(({ early, late }) => early.splices + late.splices)
  const habit = counts.length < HABIT_AFTER ? undefined : Math.round(median(counts)!)
  const limit = configured ?? habit
  const half = (name: keyof ServiceSpan) => {
    const sum = done.reduce(
      (total, span) => ({
        splices: total.splices + span[name].splices,
        failures: total.failures + span[name].failures,
      }),
      { splices: 0, failures: 0 },
    )
    return sum.splices < LEAST_OF_HALF ? null : (wilson(sum.failures, sum.splices) ?? null)
  }
  return {
    ...now,
    limit: limit ?? null,
    limit_by: configured !== undefined ? 'config' : habit === undefined ? null : 'habit',
    is_due: limit !== undefined && limit > 0 && now.splices >= limit,
    failures_early: half('early'),
    failures_late: half('late'),
  }
}
