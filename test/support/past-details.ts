/** The figures that a record of a past splice carries, read off its motion. */
import type { SpliceView } from '../../edge/api/messages.ts'
import { NO_DETAILS, type SpliceDetails } from '../../edge/splice-details.ts'
import type { Motion, MotionOptions } from './splice-motion.ts'

const rounded = (value: number, digits = 2): number => Number(value.toFixed(digits))
const RESERVE_M = 1
/** Of 1.3 m wide paper of 64 g/m² at 0.09 EUR/m. */
const WEB = { material: 'Paper 4711', kilograms_per_metre: 0.0832, price_per_metre: 0.09, currency: 'EUR' }

export const pastDetails = (
  view: Omit<SpliceView, 'details' | 'review'>,
  motion: readonly Motion[],
  options: MotionOptions,
): SpliceDetails => {
  const startedTMs = Date.parse(view.started)
  const at = (second: number | undefined): string | null =>
    second === undefined ? null : new Date(startedTMs + second * 1000).toISOString()
  const cycle = motion.filter(({ second }) => second >= 0)
  const tension = cycle.map(({ tensionN }) => tensionN)
  const fell = cycle.find(({ lineSpeedMps }) => lineSpeedMps < 0.2 * options.lineSpeedMps)?.second
  const empty = view.outcome === 'failed' && view.cause !== 'web_break' && view.cause !== 'unknown'
  const low = view.buffer_low
  const roll = Math.floor(startedTMs / 60_000) % 9000
  const slabbed = view.left_on_roll
  return {
    ...NO_DETAILS,
    ...WEB,
    deceleration: view.outcome === 'missed' ? null : options.decelerationMps2,
    acceleration: view.outcome === 'good' ? options.accelerationMps2 : null,
    refill_seconds: view.phases.find(({ phase }) => phase === 'refill')?.seconds ?? null,
    setting: rounded(view.flags.includes('early') ? 130 : options.triggerDiameterM * 1000, 1),
    trigger_offset: view.flags.includes('early') ? 12 : -0.4,
    buffer_at_start: view.outcome === 'missed' ? null : rounded(cycle[0]!.storedM),
    left_on_roll_low: slabbed === null ? null : rounded(slabbed * 0.95, 1),
    left_on_roll_high: slabbed === null ? null : rounded(slabbed * 1.05, 1),
    margin_forecast: low === null ? null : rounded(empty ? 1.8 : low - RESERVE_M + 0.3),
    margin: low === null ? null : rounded(low - RESERVE_M),
    speed_kept: view.outcome === 'good' ? (view.flags.includes('slowed_line') ? 0.7 : 1) : null,
    tension_usual: 180,
    tension_low: rounded(Math.min(...tension), 0),
    tension_high: rounded(Math.max(...tension), 0),
    tension_back_seconds: view.outcome === 'good' ? 6.2 : null,
    preparation_seconds: 262,
    preparation: [
      { stage: 'empty', seconds: 190 },
      { stage: 'preparing', seconds: 262 },
      { stage: 'ready', seconds: 75 },
    ],
    down_seconds: fell === undefined ? null : 540,
    forecast_errors: [
      { horizon_seconds: 600, metres: 14, seconds: 3 },
      { horizon_seconds: 300, metres: -6, seconds: -1.2 },
      { horizon_seconds: 60, metres: 1.5, seconds: 0.3 },
    ],
    roll_id: `R${roll}`,
    spindle: 'A',
    new_roll_id: view.transfer === null ? null : `R${roll + 1}`,
    new_material: view.transfer === null ? null : WEB.material,
    new_spindle: view.transfer === null ? null : 'B',
    tail: view.transfer === null ? null : 2.5,
    buffer_ended: empty ? at(cycle.find(({ storedM }) => storedM <= 0.2)?.second) : null,
    web_parted: view.cause === 'web_break' ? at(fell === undefined ? undefined : fell - 1) : null,
    line_fell: at(fell),
    alarms: view.outcome === 'failed' ? [`${view.unwind}-splice_failed-${startedTMs + 9000}`] : [],
    extra: { vacuum: 61.5 },
  }
}
