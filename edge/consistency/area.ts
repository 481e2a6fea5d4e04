/**
 * The side area of one roll against the web that the line took: the caliper in the line's metres. Pure, O(1).
 *
 * A(s) = A₀ − t·s with A = πD²/4 and s = V + S − S₀ (trade notes, "Symbols and relations"). How many metres one reading of
 * S is worth may itself be wrong, so A is regressed on V and on S at once: A = A₀ − t·V − c·S, by Welford's running means
 * and cross products; only t is used. Samples come once a second, so their errors are correlated (a wave once per turn, the
 * caliper's own wandering): the standard deviation is taken so much larger.
 */
const CORRELATED = 3
/** Not before so many samples. */
const FEWEST = 20

export interface AreaState {
  n: number
  webM: number
  storedM: number
  areaM2: number
  vv: number
  vs: number
  ss: number
  va: number
  sa: number
  aa: number
  firstWebM: number
  lastWebM: number
  /** Mean diameter, m. */
  diameterM: number
}

export const newArea = (): AreaState => ({
  n: 0,
  webM: 0,
  storedM: 0,
  areaM2: 0,
  vv: 0,
  vs: 0,
  ss: 0,
  va: 0,
  sa: 0,
  aa: 0,
  firstWebM: 0,
  lastWebM: 0,
  diameterM: 0,
})

export function addArea(state: AreaState, diameterM: number, webM: number, storedM: number): void {
  const areaM2 = (Math.PI * diameterM * diameterM) / 4
  if (state.n === 0) state.firstWebM = webM
  state.lastWebM = webM
  state.n += 1
  const v = webM - state.webM
  const s = storedM - state.storedM
  const a = areaM2 - state.areaM2
  state.webM += v / state.n
  state.storedM += s / state.n
  state.areaM2 += a / state.n
  state.diameterM += (diameterM - state.diameterM) / state.n
  const rest = (state.n - 1) / state.n
  state.vv += rest * v * v
  state.vs += rest * v * s
  state.ss += rest * s * s
  state.va += rest * v * a
  state.sa += rest * s * a
  state.aa += rest * a * a
}

export interface AreaSlope {
  /** Effective caliper in the tags' own metres, m; below 0 the diameter rises. */
  caliperM: number
  sdM: number
  /** Web by the line from the first to the last sample, m. */
  metres: number
  /** By how much the diameter scatters about the fit, m; and the area, as a share of its whole fall. */
  noiseM: number
  roughness: number
}

export function areaSlope(state: AreaState): AreaSlope | undefined {
  const { n, vv, vs, ss, va, sa, aa } = state
  if (n < FEWEST || !(vv > 0)) return undefined
  const left = vv - (ss > 0 ? (vs * vs) / ss : 0)
  // Where line and buffer move as one (a line that stands) they cannot be told apart.
  if (!(left > 0.01 * vv)) return undefined
  const slope = (va - (ss > 0 ? (vs * sa) / ss : 0)) / left
  const ofStored = ss > 0 ? (sa - slope * vs) / ss : 0
  const residual = Math.max(0, aa - slope * va - ofStored * sa) / (n - 3)
  const metres = state.lastWebM - state.firstWebM
  return {
    caliperM: -slope,
    sdM: CORRELATED * Math.sqrt(residual / left),
    metres,
    noiseM: state.diameterM > 0 ? (2 * Math.sqrt(residual)) / (Math.PI * state.diameterM) : 0,
    roughness: Math.sqrt(residual) / (Math.abs(slope) * metres + Number.MIN_VALUE),
  }
}
