/** The cautions of the trade are one tap away from wherever somebody reads, scrolled or not, and stand on every print. */
import type { Browser, Locator } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { pageEntries } from '../../dashboard/frame/pages.ts'
import type { SpliceView } from '../../edge/api/messages.ts'
import { launchBrowser, openPage, SCREENS } from '../support/browser.ts'
import { type DashboardServer, startDashboard } from '../support/dashboard-server.ts'

let browser: Browser
let server: DashboardServer
const paths: string[] = []
beforeAll(async () => {
  browser = await launchBrowser()
  server = await startDashboard()
  const [splice] = (await (await fetch(`${server.url}/api/splices?limit=1`)).json()) as SpliceView[]
  const idOf: Readonly<Record<string, string>> = { splices: splice!.id, unwinds: 'label_press' }
  for (const [, { path, hasId }] of pageEntries) paths.push(hasId === true ? `${path}/${idOf[path] ?? ''}` : path)
})
afterAll(async () => {
  await server.stop()
  await browser.close()
})

/** Where it is once the page's content is there and moves it no more. */
async function settledBox(element: Locator): Promise<{ y: number; height: number }> {
  let [before, box] = [await element.boundingBox(), await element.boundingBox()]
  do {
    before = box
    await element.page().waitForTimeout(150)
    box = await element.boundingBox()
  } while (box?.y !== before?.y)
  return box ?? { y: -1, height: 0 }
}

describe('the cautions', () => {
  it.each([
    ['on a laptop', SCREENS.laptop, ['', 'alarms']],
    ['in the hand', SCREENS.phone, undefined],
  ])('%s are one tap away from every page, at its top and at its end', async (_, viewport, some) => {
    const { page, close } = await openPage(browser, `${server.url}/`, { viewport })
    expect(paths.length).toBeGreaterThan(8)
    // Where there is room for the whole footer it is one for all pages.
    for (const path of some ?? paths) {
      await page.goto(`${server.url}/${path}`)
      await page.locator('h1').first().waitFor({ state: 'attached' })
      for (const end of [0, 1]) {
        await page.evaluate((share) => scrollTo(0, share * document.documentElement.scrollHeight), end)
        const summary = page.locator('.caution summary')
        const { y, height } = await settledBox(summary)
        expect([path, y >= 0, y + height <= viewport.height + 1]).toEqual([path, true, true])
        // A click that had to scroll first, or that met something else, would not be one tap.
        await page.mouse.click(40, y + height / 2)
        const text = page.locator('.caution li').filter({ hasText: 'isolate, lock out and let down stored energy' })
        await text.waitFor()
        expect((await text.boundingBox())!.y, path).toBeGreaterThanOrEqual(0)
        await page.mouse.click(40, y + height / 2)
        await text.waitFor({ state: 'hidden' })
      }
    }
    await page.goto(`${server.url}/alarms`)
    await page.emulateMedia({ media: 'print' })
    await page.locator('.printed-cautions').getByText('isolate, lock out').waitFor()
    await close()
  })
})
