/** A plant where all is well, with as many unwinds as a test wants: for layout, order and paging. */
import type { UnwindView } from '../../edge/api/messages.ts'

const NAMES = ['Label press', 'Laminator, inner', 'Sack line', 'Coater 2', 'Laminator, outer', 'Sheeter', 'Slitter 4']
const LEFT_S = [437, 2580, 96, 1210, 260, 3400, 700]

/** Usual times of preparing, s: 240 in all. */
const STAGES = [
  ['fetch', 120],
  ['load', 60],
  ['splice_prep', 60],
] as const

/** Unwinds of steady state made from the first view; each counts down from its own time from now on. */
export const calmLanes = (count: number): ((views: UnwindView[]) => UnwindView[]) => {
  let startMs: number | undefined
  return ([first]) => {
    if (first === undefined) return []
    const nowMs = Date.parse(first.time)
    startMs ??= nowMs
    const fetched = new Date(startMs).toISOString()
    const elapsedS = (nowMs - startMs) / 1000
    return Array.from({ length: count }, (_, index) => {
      const leftS = Math.max(1, (LEFT_S[index % LEFT_S.length] ?? 600) - elapsedS)
      return {
        ...first,
        unwind: `calm_${index}`,
        name: NAMES[index % NAMES.length] ?? 'Unwind',
        state: 'running' as const,
        diameter: 160 + leftS / 10,
        seconds_to_splice: leftS,
        seconds_low: leftS * 0.99 - 1,
        seconds_high: leftS * 1.01 + 1,
        metres_to_splice: leftS * 5,
        metres_low: leftS * 4.95 - 5,
        metres_high: leftS * 5.05 + 5,
        // A roll of the usual length lasts as long as this one from now, twice over.
        next_splices: [1, 2]
          .map((times) => times * Math.max(300, leftS))
          .filter((after) => leftS + after <= 7200)
          .map((after) => ({ after, after_low: after * 0.97, after_high: after * 1.03 })),
        buffer_stored: 7.5,
        buffer_margin: 6.3,
        new_roll_ready: index !== 1,
        active_spindle: index % 2 === 0 ? 'A' : 'B',
        preparation_seconds: 240,
        // The second has its roll fetched and no more; the others are through.
        preparation: {
          stages: STAGES.map(([stage, usual_seconds], at) => ({
            stage,
            usual_seconds,
            by_hand: index === 1,
            done_at: index !== 1 || at === 0 ? fetched : null,
          })),
          ready: index !== 1,
          ...(index === 1 ? { left_seconds: 150, least_seconds: 120 } : { left_seconds: 0, least_seconds: 0 }),
          missing: index === 1 ? ('load' as const) : null,
        },
        waiting_roll:
          index % 3 === 1 ? { roll_id: null, material: 'Film 38', width: 330, faults: [], unchecked: [] } : null,
        alarms: [],
        stale: [],
        reason: null,
        reason_words: null,
      }
    })
  }
}
