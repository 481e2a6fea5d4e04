/** In every language, with the longest words that a wall may have to say: nothing is cut, and nothing lies out of sight. */
import type { Page } from 'playwright-core'
import { describe, expect, it } from 'vitest'
import { LANGUAGES } from '../../edge/languages.ts'
import { freshServers } from '../support/fresh-servers.ts'
import { TROUBLES, troubledLanes } from '../support/troubled-lanes.ts'

const start = freshServers()

/** H = 2·D·tan(α/2): 37.2 mm for 16 arcmin at 8 m, on a 43-inch 16:9 screen that is 535.5 mm high; 15 mm for a glove. */
const LEAST_PX = (37.2 / 535.5) * 1080
const TOUCH_PX = (15 / 535.5) * 1080
/** As long as facts take to come round twice, 6 s each. */
const TURNS = 6
const TURN_MS = 6000

/** Every word of a lane as it is drawn now. */
const measure = (page: Page) =>
  page.locator('.lane .item, .lane .fit').evaluateAll((elements) =>
    elements.map((element) => {
      const text = element.classList.contains('fit') ? element.querySelector('span')! : (element as HTMLElement)
      const style = getComputedStyle(text)
      const context = document.createElement('canvas').getContext('2d')!
      context.font = `${style.fontWeight} 100px ${style.fontFamily}`
      const [box, frame] = [text.getBoundingClientRect(), element.closest('.row, .fit')!.getBoundingClientRect()]
      return {
        text: `${element.getAttribute('data-part')}: ${text.textContent}`,
        capPx: (Number.parseFloat(style.fontSize) * context.measureText('H').actualBoundingBoxAscent) / 100,
        cutPx: Math.max(0, box.right - frame.right, frame.left - box.left),
        narrowed: box.width / text.offsetWidth,
        isInView: frame.top >= 0 && frame.bottom <= innerHeight && frame.right <= innerWidth,
      }
    }),
  )

describe.each(Object.keys(LANGUAGES))('in %s', (language) => {
  it.each(Object.entries(TROUBLES))('four lanes at 8 m say whole what is wrong %s', async (_when, troubles) => {
    const { page, server, faults } = await start('', { change: troubledLanes(troubles, language), language })
    await page.locator('[data-part="verb"]').nth(3).waitFor()
    expect(await page.locator('html').getAttribute('lang')).toBe(language)
    const seen = new Map<string, string>()
    for (let turn = 0; turn < TURNS; turn += 1) {
      for (const { text, capPx, cutPx, narrowed, isInView } of await measure(page)) {
        const faulty = [
          capPx < LEAST_PX * 0.995 && `letters of ${capPx.toFixed(1)} px`,
          cutPx >= 2 && `cut by ${cutPx.toFixed(1)} px`,
          narrowed < 0.57 && `narrowed to ${narrowed.toFixed(2)}`,
          !isInView && 'out of sight',
          /…/.test(text) && 'torn',
        ].filter(Boolean)
        if (faulty.length > 0) seen.set(text, faulty.join(', '))
      }
      server.advance(TURN_MS)
      await page.waitForTimeout(700)
    }
    expect(Object.fromEntries(seen)).toEqual({})
    const buttons = await page.locator('.lane-actions button').evaluateAll((all) =>
      all.map((button) => {
        const { width, height, right } = button.getBoundingClientRect()
        return { least: Math.min(width, height), isCut: button.scrollWidth > button.clientWidth, right }
      }),
    )
    expect(buttons.length).toBeGreaterThan(2)
    for (const { least, isCut } of buttons) {
      expect(least).toBeGreaterThanOrEqual(TOUCH_PX - 0.5)
      expect(isCut).toBe(false)
    }
    expect(faults).toEqual([])
  })
})
