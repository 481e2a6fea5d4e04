/** The wall as an operator meets it: the real API and the built pages over the stand-in daemon, in a real browser. */
import type { Browser, Page } from 'playwright-core'
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest'
import { isNetworkFault, launchBrowser, type OpenPage, openPage, SCREENS } from '../support/browser.ts'
import { calmLanes } from '../support/calm-lanes.ts'
import { type DashboardOptions, type DashboardServer, startDashboard } from '../support/dashboard-server.ts'

let browser: Browser
let server: DashboardServer | undefined
let opened: OpenPage | undefined
beforeAll(async () => {
  browser = await launchBrowser()
})
afterAll(() => browser.close())
afterEach(async () => {
  await opened?.close()
  await server?.stop()
  opened = undefined
  server = undefined
})

const open = async (
  options: DashboardOptions = {},
  context: Parameters<typeof openPage>[2] = {},
): Promise<{ page: Page; server: DashboardServer; faults: string[] }> => {
  server = await startDashboard(options)
  opened = await openPage(browser, `${server.url}/`, context)
  await opened.page.locator('[data-part="name"]').first().waitFor()
  return { page: opened.page, server, faults: opened.faults }
}

const lane = (page: Page, unwind: string) => page.locator(`[data-unwind="${unwind}"]`)
const secondsIn = (text: string): number => {
  const [minutes = '', seconds] = text.split(':')
  return seconds === undefined ? Number.parseInt(minutes, 10) * 60 : Number(minutes) * 60 + Number(seconds)
}

/** Notes each change of the countdown, as the page makes it. */
const recordCountdown = (page: Page, unwind: string) =>
  page.evaluate((id) => {
    const changes: { text: string; tMs: number }[] = []
    ;(globalThis as unknown as { changes: typeof changes }).changes = changes
    const read = () => {
      const text = document.querySelector(`[data-unwind="${id}"] [data-part="time"]`)?.textContent ?? ''
      if (text !== changes.at(-1)?.text) changes.push({ text, tMs: performance.now() })
    }
    read()
    new MutationObserver(read).observe(document.body, { subtree: true, childList: true, characterData: true })
  }, unwind)
const changesIn = (page: Page) =>
  page.evaluate(() => (globalThis as unknown as { changes: { text: string; tMs: number }[] }).changes)

describe('the countdown', () => {
  it('falls second by second in a fixed place, and never rises', async () => {
    // 80 s before the fill of the stand-in's label press.
    const { page } = await open({ labelPressAtS: 115 })
    await page.locator('.lane:first-child[data-unwind="label_press"]').waitFor()
    const before = await lane(page, 'label_press').locator('[data-part="time"]').boundingBox()
    await recordCountdown(page, 'label_press')
    await page.waitForFunction(() => (globalThis as unknown as { changes: unknown[] }).changes.length > 6)
    const changes = await changesIn(page)
    const seconds = changes.map(({ text }) => secondsIn(text))
    for (let i = 1; i < seconds.length; i++) {
      expect(seconds[i]).toBeLessThan(seconds[i - 1]!)
      // At most one change a second; the first one recorded may come right after the look began.
      if (i > 1) expect(changes[i]!.tMs - changes[i - 1]!.tMs).toBeGreaterThan(900)
    }
    const after = await lane(page, 'label_press').locator('[data-part="time"]').boundingBox()
    expect([after!.x, after!.y, after!.width]).toEqual([before!.x, before!.y, before!.width])
  })

  it('gives way to plain words where there is nothing to count', async () => {
    const { page } = await open()
    expect(await lane(page, 'laminator_inner').locator('[data-part="time-words"]').textContent()).toBe('stopped')
    expect(await lane(page, 'sack_line').locator('[data-part="time-words"]').textContent()).toBe('unknown')
    expect(await lane(page, 'sack_line').locator('[data-part="time"]').count()).toBe(0)
    expect(await lane(page, 'sack_line').locator('[data-part="no-data-since"]').textContent()).toMatch(
      /^no data since\s+\d\d:\d\d:\d\d CES?T$/,
    )
  })

  it('has the time of day with its zone above 10 min, and its uncertainty', async () => {
    const { page } = await open({ change: calmLanes(2) })
    const near = lane(page, 'calm_1').locator('.lane-near')
    expect(await near.locator('[data-part="time-of-day"]').textContent()).toMatch(/^at \d\d:\d\d CES?T$/)
    expect(await near.locator('[data-part="spread"]').textContent()).toMatch(/^± \d+ s$/)
    expect(await lane(page, 'calm_0').locator('[data-part="time-of-day"]').count()).toBe(0)
  })
})

describe('lanes', () => {
  it('stand in the order in which hands are needed, trouble first', async () => {
    const { page } = await open({ labelPressAtS: 100 })
    await page.locator('.lane:first-child[data-unwind="label_press"][data-tone="high"]').waitFor()
    const tones = await page.locator('.lane').evaluateAll((lanes) => lanes.map((one) => one.getAttribute('data-tone')))
    expect(tones).toEqual(['high', 'high', 'high'])
    await opened!.close()
    await server!.stop()
    const calm = await open({ change: calmLanes(4) })
    const order = () =>
      calm.page.locator('.lane').evaluateAll((lanes) => lanes.map((one) => one.getAttribute('data-unwind')))
    // The only one not ready first, then the ready ones by their splice.
    expect(await order()).toEqual(['calm_1', 'calm_2', 'calm_0', 'calm_3'])
  })

  it('turn further pages by themselves, and can be held', async () => {
    const { page } = await open({ change: calmLanes(6) })
    await page.getByText('Page 1 of 2').waitFor()
    expect(await page.locator('.lane').count()).toBe(4)
    await page.getByText('Page 2 of 2').waitFor({ timeout: 20_000 })
    expect(await page.locator('.lane').count()).toBe(2)
    await page.getByRole('button', { name: 'Hold this page' }).click()
    expect(await page.getByRole('button', { name: 'Turn pages' }).getAttribute('aria-pressed')).toBe('true')
  })
})

describe('at 8 m', () => {
  /** Height of capitals as drawn, and whether the line was cut. */
  const measure = (page: Page, part: string) =>
    page.locator(`[data-part="${part}"]`).evaluateAll((elements) =>
      elements.map((element) => {
        const text = element.querySelector('span')!
        const style = getComputedStyle(text)
        const context = document.createElement('canvas').getContext('2d')!
        context.font = `${style.fontWeight} 100px ${style.fontFamily}`
        const capShare = context.measureText('H').actualBoundingBoxAscent / 100
        const [box, frame] = [text.getBoundingClientRect(), element.getBoundingClientRect()]
        return {
          text: text.textContent,
          capPx: Number.parseFloat(style.fontSize) * capShare,
          cutPx: Math.max(0, box.right - frame.right, frame.left - box.left),
          narrowed: box.width / text.offsetWidth,
          inView: frame.top >= 0 && frame.bottom <= innerHeight && frame.right <= innerWidth,
        }
      }),
    )
  // H = 2·D·tan(α/2): 46.5 mm for 20 arcmin and 37.2 mm for 16 at 8 m, on a 43-inch 16:9 screen that is 535.5 mm high.
  const MUST_PX = (46.5 / 535.5) * 1080
  const LEAST_PX = (37.2 / 535.5) * 1080

  it('four lanes on a 43-inch screen have figures and words of 20 arcmin', async () => {
    const { page } = await open({ change: calmLanes(4) })
    expect(await page.locator('.lane').count()).toBe(4)
    for (const part of ['time', 'name', 'verb'])
      for (const line of await measure(page, part)) {
        expect(line.capPx, line.text).toBeGreaterThanOrEqual(MUST_PX * 0.995)
        expect(line, line.text).toMatchObject({ inView: true })
        expect(line.cutPx, line.text).toBeLessThan(2)
        expect(line.narrowed, line.text).toBeGreaterThanOrEqual(0.57)
      }
    for (const line of await measure(page, 'festoon'))
      expect(line.capPx, line.text).toBeGreaterThanOrEqual(LEAST_PX * 0.995)
  })

  it('trouble has at least 16 arcmin, and nothing of it is cut', async () => {
    const { page } = await open({ labelPressAtS: 100 })
    await lane(page, 'label_press').locator('[data-part="wrong"]').waitFor()
    for (const part of ['wrong', 'verb'])
      for (const line of await measure(page, part)) {
        expect(line.capPx, line.text).toBeGreaterThanOrEqual(LEAST_PX * 0.995)
        expect(line.cutPx, line.text).toBeLessThan(2)
      }
  })

  it('lanes do not lie over each other', async () => {
    const { page } = await open({ change: calmLanes(4) })
    const boxes = await page.locator('.lane').evaluateAll((lanes) =>
      lanes.map((one) => {
        const inner = [...one.querySelectorAll('[data-part="verb"], .lane-strip')].map((e) => e.getBoundingClientRect())
        return { top: one.getBoundingClientRect().top, bottom: Math.max(...inner.map((box) => box.bottom)) }
      }),
    )
    for (let i = 1; i < boxes.length; i++) expect(boxes[i]!.top).toBeGreaterThanOrEqual(boxes[i - 1]!.bottom - 1)
    expect(await page.evaluate(() => document.documentElement.scrollHeight <= innerHeight)).toBe(true)
  })
})

describe('a lost connection', () => {
  it('shows within 3 s, leaves no figure that looks live, and heals by itself', async () => {
    const { page, server: daemon, faults } = await open({ labelPressAtS: 60 })
    await page.locator('[data-part="time"]').first().waitFor()
    await page.evaluate(() => {
      const seen = new MutationObserver(() => {
        if (document.querySelector('[data-part="connection-lost"]') === null) return
        ;(globalThis as unknown as { lostAtMs: number }).lostAtMs = Date.now()
        seen.disconnect()
      })
      seen.observe(document.body, { subtree: true, childList: true })
    })
    const diedAtMs = Date.now()
    await daemon.stop()
    await page.locator('[data-part="connection-lost"]').waitFor()
    const lostAtMs = await page.evaluate(() => (globalThis as unknown as { lostAtMs: number }).lostAtMs)
    expect(lostAtMs - diedAtMs).toBeLessThan(3000)
    expect(await page.locator('[data-part="connection-lost"]').textContent()).toMatch(
      /Connection lost: no data since \d\d:\d\d:\d\d CES?T[\s\S]*reconnects by itself/,
    )
    expect(await page.locator('[data-part="time"]').count()).toBe(0)
    expect(await page.locator('.strip').count()).toBe(0)
    expect(await page.locator('.clock').textContent()).toBe('')
    expect(new Set(await page.locator('[data-part="time-words"]').allInnerTexts())).toEqual(new Set(['no data']))
    // Nothing moves on dead data.
    const still = await page.locator('main').textContent()
    await page.waitForTimeout(1500)
    expect(await page.locator('main').textContent()).toBe(still)

    await daemon.restart()
    await page.locator('[data-part="connection-lost"]').waitFor({ state: 'detached' })
    await page.locator('[data-part="time"]').first().waitFor()
    expect(faults.filter((fault) => !isNetworkFault(fault))).toEqual([])
  })

  it('shows too when the daemon lives but sends nothing', async () => {
    let isStuck = false
    const { page } = await open({
      change: (views) => {
        if (isStuck) throw new Error('stuck on purpose')
        return views
      },
      isQuiet: true,
    })
    await page.locator('[data-part="time"]').first().waitFor()
    isStuck = true
    await page.locator('[data-part="connection-lost"]').waitFor({ timeout: 6000 })
    isStuck = false
    await page.locator('[data-part="connection-lost"]').waitFor({ state: 'detached', timeout: 20_000 })
  })
})

describe('what people do', () => {
  it('acknowledges an alarm by a click, and shows who and when', async () => {
    const { page, server: daemon } = await open()
    await page.getByRole('button', { name: /^Acknowledge .* on Sack line$/ }).click()
    const seen = lane(page, 'sack_line').locator('[data-part="acknowledged"]')
    await seen.waitFor()
    expect(await seen.getAttribute('title')).toMatch(/^acknowledged by local \d\d:\d\d$/)
    expect(daemon.daemon.commands).toMatchObject([{ kind: 'acknowledge', unwind: 'sack_line', alarm: 'source_lost' }])
    expect(await lane(page, 'sack_line').getAttribute('data-acknowledged')).toBe('true')
  })

  it('says that a roll is ready where no tag does, and takes it back', async () => {
    const { page, server: daemon } = await open()
    await lane(page, 'laminator_inner').getByRole('button', { name: 'Mark ready' }).click()
    await lane(page, 'laminator_inner').getByRole('button', { name: 'Undo ready' }).click()
    await lane(page, 'laminator_inner').getByRole('button', { name: 'Mark ready' }).waitFor()
    expect(daemon.daemon.commands).toMatchObject([
      { kind: 'ready', unwind: 'laminator_inner', ready: true },
      { kind: 'ready', unwind: 'laminator_inner', ready: false },
    ])
    expect(await lane(page, 'label_press').getByRole('button', { name: 'Mark ready' }).count()).toBe(0)
  })

  it('asks who is there when the daemon wants to know, then does it', async () => {
    const { page, server: daemon } = await open({
      users: { 'Crew A': { role: 'operator', password: 'alder quay splices 9' } },
    })
    await page.getByRole('button', { name: /^Acknowledge .* on Sack line$/ }).click()
    const dialog = page.getByRole('dialog', { name: 'Sign in' })
    await dialog.getByLabel('Your name').fill('Crew A')
    await dialog.getByLabel('Password').fill('wrong')
    await dialog.getByRole('button', { name: 'Sign in' }).click()
    await dialog.getByRole('alert').getByText('Name or password is wrong.').waitFor()
    expect(daemon.daemon.commands).toEqual([])
    await dialog.getByLabel('Password').fill('alder quay splices 9')
    await dialog.getByRole('button', { name: 'Sign in' }).click()
    await lane(page, 'sack_line').locator('[data-part="acknowledged"]').getByText('Crew A').first().waitFor()
    expect(daemon.daemon.commands).toMatchObject([{ person: 'Crew A' }])
  })

  it('acknowledges an alarm of the whole site on any page', async () => {
    const { page, server: daemon } = await open()
    await page.getByText('Pages', { exact: true }).click()
    await page.getByRole('link', { name: 'Splices' }).click()
    daemon.daemon.raise('store_failing', '', 'high', 'This machine cannot store its history. Free or replace the disk.')
    const line = page.getByRole('list', { name: 'Alarms of the whole site' }).getByRole('listitem')
    await line.getByText('Free or replace the disk').waitFor()
    await line.getByRole('button', { name: 'Acknowledge' }).click()
    await line.getByRole('button').waitFor({ state: 'detached' })
    expect(daemon.daemon.commands).toMatchObject([{ kind: 'acknowledge', unwind: '', alarm: 'store_failing' }])
  })

  it('says why a command was not done', async () => {
    const { page, server: daemon } = await open()
    daemon.daemon.command = () => 'The store is full: free the disk.'
    await page.getByRole('button', { name: /^Acknowledge .* on Sack line$/ }).click()
    await page.getByRole('alert').getByText('Not done: The store is full: free the disk.').waitFor()
  })
})

describe('in the hand', () => {
  it('stacks lanes without scrolling sideways, with buttons for gloves', async () => {
    const { page } = await open({ labelPressAtS: 100 }, { viewport: SCREENS.phone })
    await page
      .getByRole('button', { name: /Acknowledge/ })
      .first()
      .waitFor()
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(390)
    for (const button of await page.locator('.lane button').all()) {
      const box = await button.boundingBox()
      expect(box!.height).toBeGreaterThanOrEqual(44)
      expect(box!.width).toBeGreaterThanOrEqual(44)
    }
    const tops = await page.locator('.lane').evaluateAll((lanes) => lanes.map((one) => one.getBoundingClientRect()))
    for (let i = 1; i < tops.length; i++) expect(tops[i]!.top).toBeGreaterThan(tops[i - 1]!.bottom)
    // The whole sentence stands there, not only the short words of the wall.
    await lane(page, 'sack_line').locator('.lane-text').getByText('hall_broker').waitFor()
  })
})

describe('colours', () => {
  it('can be chosen, and stay chosen', async () => {
    const { page } = await open({}, { colorScheme: 'light' })
    const ground = () => page.evaluate(() => getComputedStyle(document.body).backgroundColor)
    const light = await ground()
    await page.getByLabel('Colours').selectOption('dark')
    const dark = await ground()
    expect(dark).not.toBe(light)
    await page.reload()
    await page.locator('[data-part="name"]').first().waitFor()
    expect(await ground()).toBe(dark)
  })
})
