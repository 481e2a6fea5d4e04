/** Wall and unwind page by keyboard alone: everything is reached in the order in which it is read, seen, and left again. */
import type { Page } from 'playwright-core'
import { describe, expect, it } from 'vitest'
import { SCREENS } from '../support/browser.ts'
import { calmLanes } from '../support/calm-lanes.ts'
import type { DashboardOptions } from '../support/dashboard-server.ts'
import { freshServers } from '../support/fresh-servers.ts'

const start = freshServers()

const open = async (
  path: string,
  options: DashboardOptions,
  viewport = SCREENS.wall as { width: number; height: number },
) => {
  const { page } = await start(path, options, { viewport })
  return page
}

interface Stop {
  what: string
  top: number
  left: number
  hasRing: boolean
  isInView: boolean
  isCovered: boolean
}

/** What has the focus; undefined where nothing has. */
const stop = (page: Page): Promise<Stop | undefined> =>
  page.evaluate(() => {
    const element = document.activeElement
    if (element === null || element === document.body) return undefined
    const box = element.getBoundingClientRect()
    const [x, y] = [box.left + box.width / 2, box.top + box.height / 2]
    const there = document.elementFromPoint(x, y)
    const label = element.closest('label')?.textContent ?? ''
    return {
      what: `${element.tagName} ${element.getAttribute('aria-label') ?? (label || element.textContent)}`.trim(),
      top: box.top + scrollY,
      left: box.left,
      hasRing:
        getComputedStyle(element).outlineStyle !== 'none' &&
        Number.parseFloat(getComputedStyle(element).outlineWidth) >= 2,
      isInView: box.top >= -1 && box.left >= -1 && box.bottom <= innerHeight + 1 && box.right <= innerWidth + 1,
      isCovered: there === null || !(element.contains(there) || there.contains(element)),
    }
  })

/** Tabs on until the focus leaves the page or comes round. */
const walk = async (page: Page, key: 'Tab' | 'Shift+Tab', most: number): Promise<Stop[]> => {
  const stops: Stop[] = []
  for (let i = 0; i < most; i++) {
    await page.keyboard.press(key)
    const now = await stop(page)
    if (now === undefined) return stops
    if (stops.length > 0 && stops[0]!.what === now.what && stops[0]!.top === now.top) return stops
    stops.push(now)
  }
  throw new Error(
    `The focus does not leave the page: ${stops
      .slice(-5)
      .map(({ what }) => what)
      .join(' | ')}`,
  )
}

const expectSeen = (stops: readonly Stop[]): void => {
  for (const { what, hasRing, isInView, isCovered } of stops)
    expect({ what, hasRing, isInView, isCovered }).toEqual({ what, hasRing: true, isInView: true, isCovered: false })
}

describe('the wall by keyboard', () => {
  it('goes from lane to lane in their order, name before buttons, and out again', async () => {
    const page = await open('', { labelPressAtS: 95 })
    await page.locator('[data-part="name"]').first().waitFor()
    const order = () => page.locator('.lane h2').allInnerTexts()
    // The plant goes on meanwhile: a walk during which lanes changed places is walked again.
    let [names, stops, after] = [await order(), await walk(page, 'Tab', 60), await order()]
    for (let i = 0; i < 2 && names.join() !== after.join(); i++) {
      await page.reload()
      await page.locator('[data-part="name"]').first().waitFor()
      ;[names, stops, after] = [await order(), await walk(page, 'Tab', 60), await order()]
    }
    expectSeen(stops)
    const links = stops
      .map(({ what }, at) => ({ at, what }))
      .filter(({ what }) => names.some((name) => what === `A ${name}`))
    expect(links.map(({ what }) => what)).toEqual(names.map((name) => `A ${name}`))
    const button = stops.findIndex(({ what }) => /Acknowledge .* on Sack line/.test(what))
    expect(button).toBeGreaterThan(links.find(({ what }) => what.includes('Sack line'))!.at)
    expect((await walk(page, 'Shift+Tab', 60)).length).toBeGreaterThan(3)
  })

  it('leads from a lane to its unwind and back, and keeps the focus while lanes change places', async () => {
    const lanes = calmLanes(3)
    let isTurned = false
    const page = await open('', {
      change: (views) =>
        lanes(views).map((view, index) =>
          isTurned && index === 0 ? { ...view, new_roll_ready: false, seconds_low: 200 } : view,
        ),
    })
    await page.locator('[data-part="name"]').first().waitFor()
    const names = () => page.locator('.lane h2').allInnerTexts()
    const before = await names()
    const link = page.getByRole('link', { name: 'Label press' })
    await link.focus()
    isTurned = true
    await expect.poll(names).not.toEqual(before)
    expect((await stop(page))?.what).toContain('Label press')
    await page.keyboard.press('Enter')
    await page.waitForURL(/\/unwinds\/calm_0$/)
    await page.getByRole('heading', { level: 1, name: 'Label press' }).waitFor()
    await page.goBack()
    await page.locator('[data-part="name"]').first().waitFor()
  })
})

describe('the unwind page by keyboard', () => {
  it.each([
    ['on a laptop', SCREENS.laptop],
    ['on a phone', SCREENS.phone],
  ])('reaches everything %s, in view and not below the footer, and goes out again', async (_where, viewport) => {
    const page = await open('unwinds/label_press', { labelPressAtS: 60 }, viewport)
    await page.locator('.past-chart canvas').first().waitFor()
    const stops = await walk(page, 'Tab', 90)
    expectSeen(stops)
    const said = stops.map(({ what }) => what).join('\n')
    for (const wanted of ['Label press', 'Roll fetched', 'Label', 'Still to run', 'Mark', '3 h', 'Speed'])
      expect(said).toContain(wanted)
    expect((await walk(page, 'Shift+Tab', 90)).length).toBeGreaterThan(15)
  })
})
