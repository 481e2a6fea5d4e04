/**
 * Spindles of one unwind take the same rolls: where one's diameter is no roll's here, and in another unit one like the other
 * spindle's, its unit is the wrong one. Each is read only while its roll runs, and over its newest roll only. Pure; plain data is its
 * whole state.
 */
import { median } from '../estimators/statistics.ts'
import { canBeRoll } from '../signals/now.ts'
import { factorToSi } from '../signals/units.ts'
import { type MixUp, mixUpsOf } from './mix-ups.ts'
import { LARGEST_ROLL_M } from './pairs.ts'

/** As it would be read, whether or not it can be, m. */
interface Range {
  lowM: number
  highM: number
}

export interface SpindlesState {
  running: string | null
  sinceTMs: number | null
  /** The newest seconds' readings, m. */
  lastM: number[]
  /** By spindle: the roll that runs or ran last, and the one before it. */
  rolls: Record<string, { newest: Range | null; before: Range | null }>
}

export const newSpindles = (): SpindlesState => ({ running: null, sinceTMs: null, lastM: [], rolls: {} })

/** Right after a roll change a preset converges and a turret blinds the sensor, ms. */
const WAITS_MS = 15_000
/** The median of so many seconds: an arm or a spike of one second stretches no range. */
const SECONDS = 3
/** A reading that leaves its own range by this factor is of another unit than before. */
const FAR_OFF = 3
/** A reading that did not fall by this took no web: a stuck sensor, or one that sees nothing, is no unit. */
const FELL = 1.05
/** Rolls of one line are not all alike: read in the right unit, a range may reach beyond the other's by this. */
const ALIKE = 1.2

/** Once a second while the line runs. @param readsM - what the running spindle's tag says; undefined where it is no number above 0. */
export function noteSpindle(
  state: SpindlesState,
  tMs: number,
  spindle: string | undefined,
  readsM: number | undefined,
): void {
  if (spindle === undefined) return
  if (spindle !== state.running) {
    const known = state.rolls[spindle]
    const before = known?.newest != null && fell(known.newest) ? known.newest : (known?.before ?? null)
    state.rolls[spindle] = { newest: null, before }
    Object.assign(state, { running: spindle, sinceTMs: tMs, lastM: [] })
  }
  if (readsM === undefined || tMs - (state.sinceTMs ?? tMs) < WAITS_MS) return
  state.lastM.push(readsM)
  if (state.lastM.length > SECONDS) state.lastM.shift()
  if (state.lastM.length === SECONDS) stretch(state.rolls[spindle]!, median(state.lastM)!)
}

function stretch(roll: SpindlesState['rolls'][string], readsM: number): void {
  const { newest } = roll
  if (newest === null) {
    roll.newest = { lowM: readsM, highM: readsM }
  } else if (readsM > FAR_OFF * newest.highM || FAR_OFF * readsM < newest.lowM) {
    roll.newest = { lowM: readsM, highM: readsM }
    roll.before = null
  } else {
    newest.lowM = Math.min(newest.lowM, readsM)
    newest.highM = Math.max(newest.highM, readsM)
  }
}

const fell = ({ lowM, highM }: Range): boolean => highM >= FELL * lowM

export interface SpindleUnit {
  spindle: string
  /** Whose diameter is sound. */
  other: string
  mixUp: Extract<MixUp, { kind: 'unit' }>
  /** In the unit that the config states for each. */
  reads: { low: number; high: number }
  otherReads: { low: number; high: number }
  otherUnit: string
}

/**
 * @param unitOf - what the config states for a spindle's diameter.
 * @param coreM - outside diameter of the smallest core here, m.
 * @returns the spindle whose unit does not fit the others'; undefined while all do or too little was seen.
 */
export function spindleUnit(
  { rolls }: SpindlesState,
  unitOf: (spindle: string) => string | undefined,
  coreM: number,
): SpindleUnit | undefined {
  const seen = Object.entries(rolls).flatMap(([spindle, { newest, before }]) => {
    const range = newest !== null && fell(newest) ? newest : before
    const unit = unitOf(spindle)
    if (range === null || unit === undefined) return []
    // What a roll that just began will still fall to, the one before it showed.
    return [{ spindle, unit, range, rolls: before === null ? range : union(range, before) }]
  })
  const isSound = ({ highM }: Range): boolean => canBeRoll(highM, coreM) && highM <= LARGEST_ROLL_M
  for (const { spindle, unit, range } of seen) {
    if (canBeRoll(range.lowM, coreM) && isSound(range)) continue
    for (const other of seen) {
      const mixUp = other.spindle !== spindle && isSound(other.rolls) ? likeliest(unit, range, other.rolls) : undefined
      if (mixUp === undefined) continue
      const [reads, otherReads] = [inUnit(range, unit), inUnit(other.rolls, other.unit)]
      return { spindle, other: other.spindle, mixUp, reads, otherReads, otherUnit: other.unit }
    }
  }
  return undefined
}

const union = (one: Range, other: Range): Range => ({
  lowM: Math.min(one.lowM, other.lowM),
  highM: Math.max(one.highM, other.highM),
})

/** Of the units in which the roll lies inside the other's range, the one in which both begin most alike. */
function likeliest(unit: string, { lowM, highM }: Range, other: Range): SpindleUnit['mixUp'] | undefined {
  const offOf = ({ factor }: MixUp): number => Math.abs(Math.log(highM / factor / other.highM))
  return mixUpsOf('roll_diameter', unit)
    .filter((mixUp) => mixUp.kind === 'unit')
    .filter(({ factor }) => lowM / factor >= other.lowM / ALIKE && highM / factor <= other.highM * ALIKE)
    .sort((a, b) => offOf(a) - offOf(b))[0]
}

const inUnit = ({ lowM, highM }: Range, unit: string): { low: number; high: number } => {
  const toSi = factorToSi(unit, 'length')
  return { low: lowM / toSi, high: highM / toSi }
}
