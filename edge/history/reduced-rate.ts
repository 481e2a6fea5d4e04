/**
 * Which points are worth keeping for good: of a measured value one per second, of a state every change, of either every
 * loss and return of the value. Pure; one object serves every unwind.
 */
import { SIGNALS, type SignalName } from '../signals/catalogue.ts'
import type { SignalPoint } from './store.ts'

interface Kept {
  second: number
  value: number | null
}

export class ReducedRate {
  private readonly kept = new Map<string, Kept>()
  /** Of points that come after a newer one (a source's queue after an outage): the second last kept. */
  private readonly keptLate = new Map<string, Kept>()

  /** @returns the points to keep, in the order given. */
  take(points: readonly SignalPoint[]): SignalPoint[] {
    return points.filter((point) => this.isWorthKeeping(point))
  }

  private isWorthKeeping(point: SignalPoint): boolean {
    const key = `${point.unwind}|${point.signal}`
    const second = Math.floor(point.tMs / 1000)
    const newest = this.kept.get(key)
    const line = newest !== undefined && second < newest.second ? this.keptLate : this.kept
    const last = line.get(key)
    const isKept = last === undefined || isNews(last, point, second)
    if (isKept) line.set(key, { second, value: point.value })
    return isKept
  }
}

function isNews(last: Kept, point: SignalPoint, second: number): boolean {
  if ((last.value === null) !== (point.value === null)) return true
  if (isMeasured(point.signal)) return second !== last.second
  return point.value !== last.value
}

/** Extra signals may be anything: they are thinned like a measured value. */
function isMeasured(signal: string): boolean {
  const kind = SIGNALS[signal as SignalName] as (typeof SIGNALS)[SignalName] | undefined
  return kind === undefined || kind.value === 'number'
}
