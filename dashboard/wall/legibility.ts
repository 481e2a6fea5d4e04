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
export const ROW_PITCH = 0.9

/** Lines of the alarm's whole sentence. */
const TEXT_LINES = 2

export interface WallFit {
  /** Lanes of two rows that fit on one page. */
  perPage: number
  /** Room for a third row at the smaller size: readiness and festoon in full. */
  hasDetailRow: boolean
  /** Room for the alarm's whole sentence, to be read from near. */
  hasTextRow: boolean
}

export const wallFit = (
  availablePx: number,
  fonts: { bigPx: number; midPx: number; nearPx: number },
  lanes: number,
): WallFit => {
  const leastStripPx = Math.max(8, fonts.bigPx * 0.06)
  const twoRows = 2 * fonts.bigPx * ROW_PITCH + leastStripPx
  const perPage = Math.max(1, Math.floor(availablePx / twoRows))
  const onPage = Math.max(1, Math.min(perPage, lanes))
  const spare = availablePx / onPage - twoRows
  const detail = fonts.midPx * ROW_PITCH + leastStripPx
  const hasDetailRow = spare >= detail
  const text = fonts.nearPx * TEXT_LINES * 1.35 + leastStripPx * 2
  return { perPage, hasDetailRow, hasTextRow: spare - (hasDetailRow ? detail : 0) >= text }
}
