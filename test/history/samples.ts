/** A splice and a forecast of an invented press, to be changed where a test cares. */

import type { SpliceView } from '../../edge/api/messages.ts'
import { SAYS_NOTHING } from '../../edge/api/routes/splice-take-back.ts'
import type { ForecastRow } from '../../edge/columns.ts'
import { NO_DETAILS } from '../../edge/splice-details.ts'
import type { SpliceEntry } from '../../edge/splice-review.ts'

export const START_MS = Date.UTC(2026, 2, 2, 6, 0, 0)

export function spliceView(startedTMs: number, changes: Partial<SpliceView> = {}): SpliceView {
  return {
    id: `label_press-${startedTMs}`,
    unwind: 'label_press',
    started: new Date(startedTMs).toISOString(),
    ended: null,
    outcome: null,
    cause: null,
    flags: '',
    diameter: 130.2,
    speed: 300,
    stopped_seconds: null,
    web_from_buffer: null,
    buffer_low: null,
    left_on_roll: null,
    phases: [],
    transfer: null,
    closed: false,
    has_trace: false,
    details: NO_DETAILS,
    review: null,
    ...changes,
  }
}

export function forecastRow(tMs: number, changes: Partial<ForecastRow> = {}): ForecastRow {
  return {
    time: new Date(tMs).toISOString(),
    unwind: 'label_press',
    state: 'running',
    diameter: 400.5,
    caliper: 80.1,
    metres_to_splice: 1143.54,
    metres_low: 1140,
    metres_high: 1147,
    seconds_to_splice: 226.7,
    seconds_low: 225,
    seconds_high: 228,
    buffer_stored: 10,
    buffer_needed: 20,
    buffer_margin: 5,
    safe_speed: null,
    ...changes,
  }
}

/** What a person says of a splice: nothing but what is given. */
export const entryOf = (said: Partial<SpliceEntry>): SpliceEntry => ({
  ...SAYS_NOTHING,
  time: new Date(START_MS).toISOString(),
  person: 'Crew A',
  by_hand: false,
  takes_back: null,
  ...said,
})
