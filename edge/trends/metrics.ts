/** What is charted of each splice: which way is worse, and how it is made comparable. Pure. */
import type { TrendMetric } from '../columns.ts'

export interface MetricKind {
  /** Which way it goes when a splicer gets worse; both where any wandering does harm. */
  worse: 'up' | 'down' | 'both'
  /** How it is charted; see `charted`. */
  as: 'share' | 'fall' | 'itself'
}

export const METRIC_KINDS: Readonly<Record<TrendMetric, MetricKind>> = {
  stop: { worse: 'up', as: 'share' },
  deceleration: { worse: 'down', as: 'share' },
  acceleration: { worse: 'down', as: 'share' },
  refill: { worse: 'up', as: 'share' },
  web_used: { worse: 'up', as: 'share' },
  low_point: { worse: 'down', as: 'fall' },
  trigger_offset: { worse: 'both', as: 'itself' },
  preparation: { worse: 'up', as: 'share' },
}

/** One good splice as the charts take it; SI, what is not known is left out. */
export interface TrendSplice {
  id: string
  tMs: number
  /** Spindle, shaft, position or arm whose roll was joined on; empty where no tag says it. */
  side: string
  material: string
  /** Line speed when the unwind began to slow. */
  speedMps: number | undefined
  /** Diameter of the new roll. */
  rollM: number | undefined
  /** Web that is due in the buffer when a cycle starts. */
  dueM: number | undefined
  /** Each metric in the unit of its column (s, m/s², m, mm). */
  values: Readonly<Partial<Record<TrendMetric, number>>>
}

/**
 * A metric's value as it is charted; undefined where it cannot be.
 *
 * `share`: its logarithm, for it scatters by a share of itself and what it owes to speed and roll is a power of them.
 * `fall`: the logarithm of how far the buffer fell below what was due at the start, less is more, so that worse stays down.
 */
export function charted(
  metric: TrendMetric,
  { values, dueM }: Pick<TrendSplice, 'values' | 'dueM'>,
): number | undefined {
  const value = values[metric]
  if (value === undefined || !Number.isFinite(value)) return undefined
  const { as } = METRIC_KINDS[metric]
  if (as === 'itself') return value
  const size = as === 'share' ? value : (dueM ?? Number.NaN) - value
  if (!(size > 0)) return undefined
  return as === 'share' ? Math.log(size) : -Math.log(size)
}

/** Back from the chart to the metric's unit. */
export function uncharted(metric: TrendMetric, value: number, dueM: number | undefined): number {
  const { as } = METRIC_KINDS[metric]
  if (as === 'itself') return value
  return as === 'share' ? Math.exp(value) : (dueM ?? 0) - Math.exp(-value)
}
