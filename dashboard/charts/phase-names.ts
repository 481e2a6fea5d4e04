/** Where the names of phases stand above a trace: over their own band, or led to it by a line. Pure; one unit of length for all. */

export interface PhaseName {
  /** Ends of the band. */
  left: number
  right: number
  /** Of its words. */
  width: number
}

export interface PhasePlace {
  /** Left end of the words. */
  left: number
  /** 0 is next to the bands; only what fits over its band stands there. */
  row: number
  /** Of the line from the band's middle up: under the words or, as a flag's pole, beside them; undefined where they stand over the band. */
  leader: number | undefined
}

/** Between words. */
const GAP = 6
/** Of a line to words, its own too. */
const BESIDE = 3
/** Most rows of words that have a line: what finds no room stands in the table of phases. */
const MOST_ROWS = 5

/**
 * @param plot - its left and right end.
 * @returns one place for each of `bands`; undefined where it lies outside of the plot, or where there is no room for all that need a line.
 */
export function placePhases(
  bands: readonly PhaseName[],
  plot: { left: number; right: number },
): (PhasePlace | undefined)[] {
  const middles = bands.map(({ left, right }) => (Math.max(left, plot.left) + Math.min(right, plot.right)) / 2)
  const over = bands.map(({ left, right, width }, i): PhasePlace | undefined =>
    width + GAP <= Math.min(right, plot.right) - Math.max(left, plot.left)
      ? { left: middles[i]! - width / 2, row: 0, leader: undefined }
      : undefined,
  )
  // From the right: the first rows then stand to the right of the lines that still go up.
  const led = bands
    .map((_, i) => i)
    .filter((i) => over[i] === undefined && bands[i]!.right > plot.left && bands[i]!.left < plot.right)
    .reverse()
  const widths = bands.map(({ width }) => width)
  for (let rows = 1; rows <= MOST_ROWS; rows++) {
    const places = [...over]
    if (placeLed(led, { places, middles, widths, plot, rows })) return places
  }
  return over
}

interface Search {
  /** Filled in as it goes. */
  places: (PhasePlace | undefined)[]
  middles: readonly number[]
  widths: readonly number[]
  plot: { left: number; right: number }
  rows: number
}

/** Tries each place for the first of `led` with each for the others, lowest rows first. */
function placeLed(led: readonly number[], search: Search): boolean {
  const [i, ...others] = led
  if (i === undefined) return true
  const { places, middles, widths, plot, rows } = search
  const [leader, width] = [middles[i]!, widths[i]!]
  for (let row = 1; row <= rows; row++) {
    for (const left of [leader - width / 2, leader + BESIDE, leader - BESIDE - width]) {
      if (left < plot.left || left + width > plot.right) continue
      const place: PhasePlace = { left, row, leader }
      if (places.some((other, j) => other !== undefined && isCrossed(place, width, other, widths[j]!))) continue
      places[i] = place
      if (placeLed(others, search)) return true
      places[i] = undefined
    }
  }
  return false
}

/** Words over words in one row, or a line through words below its own. */
function isCrossed(one: PhasePlace, oneWidth: number, other: PhasePlace, otherWidth: number): boolean {
  if (one.row === other.row) return one.left < other.left + otherWidth + GAP && other.left < one.left + oneWidth + GAP
  const [low, lowWidth, high] = one.row < other.row ? [one, oneWidth, other] : [other, otherWidth, one]
  return high.leader !== undefined && high.leader > low.left - BESIDE && high.leader < low.left + lowWidth + BESIDE
}
