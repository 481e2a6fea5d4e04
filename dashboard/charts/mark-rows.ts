/** Where the words of marks stand above a plot, so that none lies over another nor leaves it. Pure; one unit of length for all. */

export interface MarkWords {
  /** Of the mark's line. */
  x: number
  width: number
  /** They rather end at the line than begin there. */
  endsThere: boolean
}

export interface MarkPlace {
  /** Left end of the words. */
  left: number
  /** 0 is next to the plot. */
  row: number
}

/** Of a line to its words. */
const BESIDE = 4
/** Between words in one row. */
const GAP = 8

/**
 * @param plot - its left and right end.
 * @returns one place for each of `marks`; undefined where all rows are taken.
 */
export function placeMarks(
  marks: readonly MarkWords[],
  plot: { left: number; right: number },
  rows: number,
): (MarkPlace | undefined)[] {
  const taken: { row: number; left: number; right: number }[] = []
  return marks.map(({ x, width, endsThere }) => {
    if (width > plot.right - plot.left) return undefined
    const wanted = endsThere ? x - BESIDE - width : x + BESIDE
    const left = Math.min(plot.right - width, Math.max(plot.left, wanted))
    for (let row = 0; row < rows; row++) {
      if (taken.some((one) => one.row === row && left < one.right + GAP && one.left < left + width + GAP)) continue
      taken.push({ row, left, right: left + width })
      return { left, row }
    }
    return undefined
  })
}
