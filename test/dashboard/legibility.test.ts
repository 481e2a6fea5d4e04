import { describe, expect, it } from 'vitest'
import { capHeightPx, MUST_READ_ARCMIN, wallFit } from '../../dashboard/wall/legibility.ts'

const INCH_M = 0.0254

describe('character heights', () => {
  // H = 2·D·tan(α/2) worked out by hand for 16, 20 and 24 arcmin; ISO 9241-3 as quoted asks 16 at least and 20 to 22 preferred.
  const HEIGHT_MM = [
    [16, 3, 14.0],
    [16, 8, 37.2],
    [20, 0.6, 3.5],
    [20, 5, 29.1],
    [20, 8, 46.5],
    [20, 10, 58.2],
    [24, 8, 55.9],
  ] as const

  it.each(HEIGHT_MM)('%i arcmin at %d m are %d mm', (arcmin, distanceM, heightMm) => {
    // A screen of one pixel a millimetre.
    const screen = { diagonalM: 5, distanceM, widthPx: 3000, heightPx: 4000 }
    expect(capHeightPx(arcmin, screen)).toBeCloseTo(heightMm, 1)
  })

  // Share of a 16:9 screen's height that capitals of 20 arcmin take, and the font size in px of 1080 at a cap height of 0.7.
  const SHARES = [
    [43, 5, 5.4, 84],
    [43, 8, 8.7, 134],
    [43, 10, 10.9, 168],
    [55, 5, 4.2, 66],
    [55, 8, 6.8, 105],
    [65, 10, 7.2, 111],
  ] as const

  it.each(SHARES)(
    'on %i inch at %i m they take %d %% of the height, %i px of font',
    (inches, distanceM, percent, font) => {
      const screen = { diagonalM: inches * INCH_M, distanceM, widthPx: 1920, heightPx: 1080 }
      const px = capHeightPx(MUST_READ_ARCMIN, screen)
      expect((px / 1080) * 100).toBeCloseTo(percent, 0.9)
      expect(Math.abs(px / 0.7 - font)).toBeLessThanOrEqual(1)
    },
  )
})

describe('lanes on a page', () => {
  it('are four on a 43-inch screen at 8 m', () => {
    const screen = { diagonalM: 43 * INCH_M, distanceM: 8, widthPx: 1920, heightPx: 1080 }
    const fonts = { bigPx: capHeightPx(20, screen) / 0.72, midPx: capHeightPx(16, screen) / 0.72 }
    expect(wallFit(1008, 1920, fonts, 4)).toEqual({ perPage: 4, isOneLine: false, hasDetailRow: false })
    expect(wallFit(1008, 1920, fonts, 2).hasDetailRow).toBe(true)
    // Nobody reads a fifth lane between them: it goes on the next page.
    expect(wallFit(1008, 1920, fonts, 5)).toMatchObject({ perPage: 4, isOneLine: false })
  })

  it('are twelve and more at 3 m, and never none', () => {
    const screen = { diagonalM: 43 * INCH_M, distanceM: 3, widthPx: 1920, heightPx: 1080 }
    const bigPx = capHeightPx(20, screen) / 0.72
    const { perPage, isOneLine } = wallFit(1008, 1920, { bigPx, midPx: bigPx * 0.8 }, 12)
    expect(perPage).toBeGreaterThanOrEqual(12)
    expect(isOneLine).toBe(true)
    expect(wallFit(50, 1920, { bigPx: 134, midPx: 107 }, 4).perPage).toBe(1)
  })
})
