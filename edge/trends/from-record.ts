/** A splice record as the charts take it; undefined for one that says nothing of how the splicer works. Pure. */
import type { SpliceView } from '../api/messages.ts'
import type { TrendMetric } from '../columns.ts'
import { sideOf } from '../splice-details.ts'
import type { TrendSplice } from './metrics.ts'

const MPMIN_PER_MPS = 60
const MM_PER_M = 1000
/** A cycle that a person or a late reading started says nothing of the trigger. */
const NOT_BY_DIAMETER = /\b(early|late|manual)\b/

/** Units of the charted metrics, as in the record. */
export const METRIC_UNITS: Readonly<Record<TrendMetric, string>> = {
  stop: 's',
  deceleration: 'm/s²',
  acceleration: 'm/s²',
  refill: 's',
  web_used: 'm',
  low_point: 'm',
  trigger_offset: 'mm',
  preparation: 's',
}

/** @param dueM - web that is due in the buffer when a cycle starts. */
export function trendSplice(view: SpliceView, dueM: number | undefined): TrendSplice | undefined {
  if (view.outcome !== 'good' || !view.closed) return undefined
  const { details } = view
  const values = {
    stop: view.stopped_seconds,
    deceleration: details.deceleration,
    acceleration: details.acceleration,
    refill: details.refill_seconds,
    web_used: view.web_from_buffer,
    low_point: view.buffer_low,
    trigger_offset: NOT_BY_DIAMETER.test(view.flags) ? null : details.trigger_offset,
    preparation: details.preparation_seconds,
  } satisfies Record<TrendMetric, number | null>
  return {
    id: view.id,
    tMs: Date.parse(view.started),
    side: sideOf(view) ?? '',
    material: details.new_material ?? details.material ?? '',
    speedMps: view.speed === null ? undefined : view.speed / MPMIN_PER_MPS,
    rollM: details.new_roll_diameter === null ? undefined : details.new_roll_diameter / MM_PER_M,
    dueM,
    values: Object.fromEntries(Object.entries(values).filter(([, value]) => value !== null)) as TrendSplice['values'],
  }
}
