/**
 * How high letters must be to be read from where people stand. H = 2·D·tan(α/2), height meaning capitals.
 * 20 arcmin for what must be read, 16 the least (ISO 9241-303 as quoted; NUREG-0700 at the greatest viewing distance).
 */
export const MUST_READ_ARCMIN = 20
export const LEAST_ARCMIN = 16

export interface Screen {
  /** Diagonal of the wall's screen, m. */
  diagonalM: number
  /** Greatest viewing distance, m. */
  distanceM: number
  /** The screen in CSS pixels. */
  widthPx: number
  heightPx: number
}

/** Height of capitals in CSS pixels for a viewing angle in minutes of arc. */
export const capHeightPx = (arcmin: number, screen: Screen): number => {
  const heightM = 2 * screen.distanceM * Math.tan((arcmin / 60 / 2) * (Math.PI / 180))
  const pixelM = screen.diagonalM / Math.hypot(screen.widthPx, screen.heightPx)
  return heightM / pixelM
}

/** Row pitch as a share of the font size: capitals (0.72) and a gap in which descenders of the row above have room. */
export const ROW_PITCH = 0.88

/** How many lanes of two rows fit, and how many rows each gets where fewer lanes are there. */
export const wallFit = (
  availablePx: number,
  bigFontPx: number,
  midFontPx: number,
  lanes: number,
): { perPage: number; hasDetailRow: boolean } => {
  const leastStripPx = Math.max(10, bigFontPx * 0.1)
  const twoRows = 2 * bigFontPx * ROW_PITCH + leastStripPx
  const perPage = Math.max(1, Math.floor(availablePx / twoRows))
  const onPage = Math.max(1, Math.min(perPage, lanes))
  return { perPage, hasDetailRow: availablePx / onPage >= twoRows + midFontPx * ROW_PITCH + leastStripPx }
}
