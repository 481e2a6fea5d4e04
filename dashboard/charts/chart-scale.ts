/** Letters drawn on a canvas know nothing of the page's own: on a screen of 4K they have to grow with it. */

/** The root's font size on an ordinary screen, px. */
const USUAL_ROOT_PX = 16

/** How many times larger than on an ordinary screen the page writes; 1 on paper, whose letters have their size in points. */
export const chartScale = (): number => {
  if (matchMedia('print').matches) return 1
  const rootPx = Number.parseFloat(getComputedStyle(document.documentElement).fontSize)
  return Number.isFinite(rootPx) ? Math.max(1, rootPx / USUAL_ROOT_PX) : 1
}

/** As a canvas takes it. @param px - on an ordinary screen. */
export const chartFont = (px: number, ratio = 1): string =>
  `${(px * chartScale() * ratio).toFixed(1)}px ${getComputedStyle(document.body).fontFamily}`
