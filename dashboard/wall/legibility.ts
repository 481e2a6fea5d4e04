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

export interface WallFit {
  /** Lanes that fit on one page. */
  perPage: number
  /** Everything of a lane beside each other in one row: a near screen with many lanes. */
  isOneLine: boolean
  /** Room for a third row at the smaller size: times of day, the next roll. */
  hasDetailRow: boolean
}

/** The strip of web below a lane's text, as a share of the big font size: below it joints are no longer told apart. */
const LEAST_STRIP = 0.13
/** A name, a verb, the time and a fact beside each other take so many times the font size. */
const ONE_LINE_WIDTH = 33

export const wallFit = (
  availablePx: number,
  widthPx: number,
  fonts: { bigPx: number; midPx: number },
  lanes: number,
): WallFit => {
  const leastStripPx = Math.max(8, fonts.bigPx * LEAST_STRIP)
  const row = fonts.bigPx * ROW_PITCH
  const fitting = (rows: number) => Math.max(1, Math.floor(availablePx / (rows * row + leastStripPx)))
  const isOneLine = lanes > fitting(2) && widthPx >= ONE_LINE_WIDTH * fonts.bigPx
  const perPage = fitting(isOneLine ? 1 : 2)
  const spare = availablePx / Math.max(1, Math.min(perPage, lanes)) - 2 * row - leastStripPx
  return { perPage, isOneLine, hasDetailRow: !isOneLine && spare >= fonts.midPx * ROW_PITCH + leastStripPx }
}
