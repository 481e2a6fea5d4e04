/**
 * Notices that a person (or a recipe) changed a setting, and not that a reading trembles, a setpoint ramps or the line
 * stands. Pure, O(1) a look.
 */
import { copyOf } from '../plain-data.ts'

export interface SettingReading {
  signal: string
  /** In the unit beside it; text and truth as text. */
  value: number | string
  unit: string
}

export interface SettingChange {
  signal: string
  unit: string
  /** When it left what it was. */
  tMs: number
  from: number | string
  to: number | string
}

/** A new value has to stay so long: a keypad is typed in digits. A setpoint of speed ramps. */
const HOLD_MS = 5000
const HOLD_SPEED_MS = 30_000
/** What differs by less is the same: analogue setpoints tremble. Share of the value. */
const SAME_SHARE = 0.002
/** A commanded speed below this is a stop, and the setting is what it was before (recording contract: 1 m/min). */
const STANDING_MPMIN = 1

interface Known {
  settled: number | string | null
  /** Another value than the settled one, since when it is just this, and since when it is any other. */
  candidate: number | string | null
  candidateTMs: number
  leftTMs: number
}

/** Plain data. */
export type SettingWatchState = Record<string, Known>

export class SettingWatch {
  #known = new Map<string, Known>()

  step(readings: readonly SettingReading[], tMs: number): SettingChange[] {
    const changes: SettingChange[] = []
    for (const reading of readings) {
      const { signal, value, unit } = reading
      const isSpeed = signal === 'speed_setpoint'
      if (isSpeed && typeof value === 'number' && value < STANDING_MPMIN) continue
      const known = this.#of(signal)
      if (known.settled !== null && isSame(known.settled, value)) {
        known.candidate = null
        continue
      }
      if (known.candidate === null) known.leftTMs = tMs
      if (known.candidate === null || !isSame(known.candidate, value)) {
        known.candidate = value
        known.candidateTMs = tMs
      }
      if (tMs - known.candidateTMs < (isSpeed ? HOLD_SPEED_MS : HOLD_MS)) continue
      if (known.settled !== null) changes.push({ signal, unit, tMs: known.leftTMs, from: known.settled, to: value })
      known.settled = value
      known.candidate = null
    }
    return changes
  }

  #of(signal: string): Known {
    const known = this.#known.get(signal)
    if (known !== undefined) return known
    const fresh = { settled: null, candidate: null, candidateTMs: 0, leftTMs: 0 }
    this.#known.set(signal, fresh)
    return fresh
  }

  snapshot(): SettingWatchState {
    return copyOf(Object.fromEntries(this.#known))
  }

  restore(state: SettingWatchState): void {
    this.#known = new Map(Object.entries(copyOf(state)))
  }
}

function isSame(a: number | string, b: number | string): boolean {
  if (typeof a !== 'number' || typeof b !== 'number') return a === b
  return Math.abs(a - b) <= SAME_SHARE * Math.max(Math.abs(a), Math.abs(b))
}
