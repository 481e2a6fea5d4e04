/**
 * The countdown held to its word: what it said at each horizon against where the splice then began. Pure; plain data.
 *
 * An interval of 80 % has to miss one truth in five. Each splice widens the intervals of a horizon by e^(0.8·g) where its
 * truth lay outside and narrows them by e^(−0.2·g) where it lay inside, so that in the long run one in five lies outside
 * whatever the roll, the sensor or the splicer does that no model knew (adaptive conformal inference: Gibbs & Candès,
 * Advances in Neural Information Processing Systems 34 (2021), on the logarithm of the width; from memory).
 */
import { Z80 } from '../statistics.ts'

/** What is judged, s before the splice. */
const HORIZONS_S = [1800, 600, 300, 120, 60, 20] as const
/** A roll that came into sight later than this share of the horizon is not judged at it. */
const LATE_SHARE = 0.9
/** g: ten splices that all lie inside narrow by 15 %; the width then wanders by a tenth. */
const GAIN = 0.08
const MISSES_WANTED = 0.2
/**
 * Before anything was judged, as a share of the model's own width: it has to allow for waves, drifts and steps of the
 * reading that most rolls and sensors do not have, and far ahead most of it is a walk of the caliper that most rolls do not
 * walk. With these, 81 to 83 % of 258 long rolls lay inside 10 and 5 min ahead, 79 to 80 % of 688 to 2244 nearer (bench:forecast).
 */
const START_NEAR = Math.log(0.85)
const START_FAR = Math.log(0.86)
const FAR_S = 300
const startOf = (horizonS: number): number => (horizonS >= FAR_S ? START_FAR : START_NEAR)
const NARROWEST = Math.log(0.6)
const WIDEST = Math.log(3)

interface Said {
  horizonS: number
  rollWebM: number
  metres: number
  /** By the model, before this record widened or narrowed it. */
  modelSdM: number
}

export interface TrackRecord {
  /** Logarithm of the width by horizon, of the model's. */
  logWidth: Record<string, number>
  /** Of the roll that runs. */
  said: Said[]
  /** Of the splice that runs: error ÷ the model's standard deviation. */
  pending: { horizonS: number; sds: number }[]
}

export const noTrackRecord = (): TrackRecord => ({ logWidth: {}, said: [], pending: [] })

export interface Word {
  metres: number
  modelSdM: number
  seconds: number | undefined
}

/** Keeps a word where it is the first at a horizon. @param rollWebM - web off the roll then, m. */
export function noteWord(record: TrackRecord, word: Word, rollWebM: number): void {
  const { seconds } = word
  if (seconds === undefined) return
  for (const horizonS of HORIZONS_S) {
    if (seconds > horizonS || seconds < LATE_SHARE * horizonS) continue
    if (record.said.some((one) => one.horizonS === horizonS)) continue
    record.said.push({ horizonS, rollWebM, metres: word.metres, modelSdM: word.modelSdM })
  }
}

/** Another roll runs. */
export function forgetWords(record: TrackRecord): void {
  record.said = []
}

/** The splice has begun. @param rollWebM - web off the roll at its start, m. */
export function noteTruth(record: TrackRecord, rollWebM: number): void {
  record.pending = record.said.flatMap((one) => {
    const errorM = one.metres - (rollWebM - one.rollWebM)
    return one.modelSdM > 0 ? { horizonS: one.horizonS, sds: Math.abs(errorM) / one.modelSdM } : []
  })
  record.said = []
}

/** The splice was one that the splicer began by itself: what was said of it counts. */
export function judge(record: TrackRecord): void {
  for (const { horizonS, sds } of record.pending) {
    const width = record.logWidth[horizonS] ?? startOf(horizonS)
    const missed = sds > Z80 * Math.exp(width) ? 1 : 0
    record.logWidth[horizonS] = Math.min(WIDEST, Math.max(NARROWEST, width + GAIN * (missed - MISSES_WANTED)))
  }
  record.pending = []
}

/** Width of the interval as a share of the model's, for a splice so far away, s; between horizons by its logarithm. */
export function widthAt(record: TrackRecord, seconds: number): number {
  const at = (index: number): number => record.logWidth[HORIZONS_S[index]!] ?? startOf(HORIZONS_S[index]!)
  const next = HORIZONS_S.findIndex((horizonS) => horizonS <= seconds)
  if (next === 0) return Math.exp(at(0))
  if (next < 0) return Math.exp(at(HORIZONS_S.length - 1))
  const [long, short] = [HORIZONS_S[next - 1]!, HORIZONS_S[next]!]
  const share = Math.log(seconds / short) / Math.log(long / short)
  return Math.exp(at(next) + share * (at(next - 1) - at(next)))
}
