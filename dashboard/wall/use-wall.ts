/** Measures the screen and says how large letters must be and how many lanes fit. */
import type { RefObject } from 'preact'
import { useLayoutEffect, useState } from 'preact/hooks'
import type { HealthView } from '../../edge/api/messages.ts'
import { type Columns, columnsOf } from './columns.ts'
import { capHeightPx, LEAST_ARCMIN, MUST_READ_ARCMIN, ROW_PITCH, type WallFit, wallFit } from './legibility.ts'
import type { Fonts } from './row-plan.ts'

export interface WallLayout extends WallFit, Columns, Fonts {
  /** Stacked cards for a phone or a narrow window: read from the hand, not from the wall. */
  isCards: boolean
  /** For somebody who stands before the screen. */
  nearFontPx: number
  /** Words on the strip. */
  labelPx: number
  /** What a finger or a glove finds on the screen itself: 20 mm. */
  touchPx: number
}

/** Smallest side of a button for gloves, m. */
const TOUCH_M = 0.02

/** Before the daemon has said otherwise: a 43-inch screen at 8 m. */
const DEFAULT_WALL: HealthView['wall'] = { screen_diagonal: 1.0922, distance: 8 }
const CARDS_BELOW_PX = 900
/** Letters wider than a lane help nobody: the longest instruction has to fit. */
const WIDEST_SHARE = 1 / 14
/** Height of letters that are read from an arm's length, as a share of the screen's: 16 px of 1080. */
const NEAR_SHARE = 16.5 / 1080

/** Height of capitals as a share of the font size, measured: fonts differ between machines. */
const capRatio = (family: string): number => {
  const context = document.createElement('canvas').getContext('2d')
  if (context === null) return 0.7
  context.font = `200px ${family}`
  const ratio = context.measureText('H').actualBoundingBoxAscent / 200
  return ratio > 0.5 && ratio < 0.9 ? ratio : 0.7
}

const measure = (lanesBox: HTMLElement | null, wall: HealthView['wall'], lanes: number): WallLayout => {
  const [width, height] = [window.innerWidth, window.innerHeight]
  const screen = {
    diagonalM: wall.screen_diagonal,
    distanceM: wall.distance,
    widthPx: Math.max(window.screen.width, width),
    heightPx: Math.max(window.screen.height, height),
  }
  const ratio = capRatio(getComputedStyle(document.body).fontFamily)
  const mustBig = capHeightPx(MUST_READ_ARCMIN, screen) / ratio
  const mustMid = capHeightPx(LEAST_ARCMIN, screen) / ratio
  const isCards = width < CARDS_BELOW_PX || width < height
  const available = lanesBox?.clientHeight ?? height * 0.9
  // A near screen asks for small letters: where there is room, they grow to use it.
  const roomy = available / Math.max(1, lanes) / (3.2 * ROW_PITCH)
  const grown = Math.min(width * WIDEST_SHARE, roomy, mustBig * 2)
  const bigPx = Math.ceil(Math.max(mustBig, grown) * 10) / 10
  const midPx = Math.ceil(((mustMid * bigPx) / mustBig) * 10) / 10
  const nearFontPx = Math.min(28, Math.max(13, height * NEAR_SHARE))
  // As the style sheet has it (--near-size).
  const labelPx = Math.min(40, Math.max(15, 0.0225 * height))
  const across = lanesBox?.clientWidth ?? width
  const fit = wallFit(available, across, { bigPx, midPx }, lanes)
  const touchPx = (TOUCH_M * Math.hypot(screen.widthPx, screen.heightPx)) / screen.diagonalM
  return {
    isCards,
    bigPx,
    midPx,
    nearFontPx,
    labelPx,
    touchPx,
    ...fit,
    ...columnsOf(across, { bigPx, midPx }, nearFontPx, fit),
  }
}

const isSame = (a: WallLayout | undefined, b: WallLayout): boolean =>
  a !== undefined && Object.entries(b).every(([key, value]) => a[key as keyof WallLayout] === value)

export const useWall = (
  lanesBox: RefObject<HTMLElement | null>,
  wall: HealthView['wall'] | undefined,
  lanes: number,
): WallLayout | undefined => {
  const [layout, setLayout] = useState<WallLayout>()
  const { screen_diagonal, distance } = wall ?? DEFAULT_WALL
  useLayoutEffect(() => {
    const update = () =>
      setLayout((before) => {
        const next = measure(lanesBox.current, { screen_diagonal, distance }, lanes)
        return isSame(before, next) ? before : next
      })
    update()
    const observer = new ResizeObserver(update)
    observer.observe(document.body)
    if (lanesBox.current !== null) observer.observe(lanesBox.current)
    return () => observer.disconnect()
  }, [lanesBox, screen_diagonal, distance, lanes])
  return layout
}
