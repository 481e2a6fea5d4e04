/** The wall as an operator meets it: the real API and the built pages over the stand-in daemon, in a real browser. */
import { cp, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { Page } from 'playwright-core'
import { describe, expect, it } from 'vitest'
import type { UnwindView } from '../../edge/api/messages.ts'
import { isNetworkFault, type openPage, SCREENS } from '../support/browser.ts'
import { DASHBOARD_DIR } from '../support/build-dashboard.ts'
import { calmLanes } from '../support/calm-lanes.ts'
import type { DashboardOptions } from '../support/dashboard-server.ts'
import { freshServers, type Opened } from '../support/fresh-servers.ts'
import { secondsShown } from '../support/seconds-shown.ts'

const start = freshServers()

const open = async (options: DashboardOptions = {}, context: Parameters<typeof openPage>[2] = {}): Promise<Opened> => {
  const opened = await start('', options, context)
  await opened.page.locator('[data-part="name"]').first().waitFor()
  return opened
}

const lane = (page: Page, unwind: string) => page.locator(`[data-unwind="${unwind}"]`)

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
    const drawnAt: number[] = []
    ;(globalThis as unknown as { drawnAt: number[] }).drawnAt = drawnAt
    new MutationObserver(() => drawnAt.push(performance.now())).observe(document.querySelector('main')!, {
      subtree: true,
      childList: true,
      characterData: true,
      attributes: true,
    })
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
    const seconds = changes.map(({ text }) => secondsShown(text))
    for (let i = 1; i < seconds.length; i++) {
      expect(seconds[i]).toBeLessThan(seconds[i - 1]!)
      // At most one change a second; the first one recorded may come right after the look began.
      if (i > 1) expect(changes[i]!.tMs - changes[i - 1]!.tMs).toBeGreaterThan(900)
    }
    // Four drawings a second at most; a burst of changes is one.
    const drawnAt = await page.evaluate(() => (globalThis as unknown as { drawnAt: number[] }).drawnAt)
    const drawn = drawnAt.filter((tMs, index) => index === 0 || tMs - drawnAt[index - 1]! > 40)
    const spanS = (drawn.at(-1)! - drawn[0]!) / 1000
    expect((drawn.length - 1) / spanS).toBeLessThan(4.2)
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

  it('has the time of day above 10 min, under an axis that names the zone', async () => {
    const { page } = await open({ change: calmLanes(2) })
    expect(await lane(page, 'calm_1').locator('[data-part="ready-by"]').textContent()).toMatch(/^ready by \d\d:\d\d$/)
    expect(await lane(page, 'calm_1').locator('[data-part="splice-at"]').textContent()).toMatch(/^splice \d\d:\d\d$/)
    expect(await lane(page, 'calm_0').locator('[data-part="splice-at"]').count()).toBe(0)
    const marks = await page.locator('[data-part="axis"] span').allInnerTexts()
    expect(marks[0]).toMatch(/^now \d\d:\d\d CES?T$/)
    expect(marks.length).toBeGreaterThan(2)
    for (const mark of marks.slice(1)) expect(mark).toMatch(/^\d\d:\d0$/)
    // Every joint within the hour, each with its own preparation before it.
    expect(await lane(page, 'calm_0').locator('.strip-joint').count()).toBe(3)
    expect(await lane(page, 'calm_0').locator('.strip-later').count()).toBe(2)
  })

  it('is not there while the line threads or jogs', async () => {
    const state: Partial<UnwindView>[] = [{ line_state: 'thread' }, { line_state: 'jog' }, {}]
    const lanes = calmLanes(3)
    const { page } = await open({
      change: (views) => lanes(views).map((view, index) => ({ ...view, ...state[index] })),
    })
    expect(await lane(page, 'calm_0').locator('[data-part="time-words"]').textContent()).toBe('threading')
    expect(await lane(page, 'calm_1').locator('[data-part="time-words"]').textContent()).toBe('jogging')
    expect(await page.locator('[data-part="time"]').count()).toBe(1)
  })
})

describe('lanes', () => {
  it('stand in the order in which hands are needed, trouble first', async () => {
    const { page } = await open({ labelPressAtS: 100 })
    await page.locator('.lane:first-child[data-unwind="label_press"][data-tone="high"]').waitFor()
    const tones = await page.locator('.lane').evaluateAll((lanes) => lanes.map((one) => one.getAttribute('data-tone')))
    expect(tones).toEqual(['high', 'high', 'high'])
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

describe('after an upgrade', () => {
  it('loads the new pages by itself, once, even where a cache keeps giving it the old ones', async () => {
    const upgraded = await mkdtemp(join(tmpdir(), 'lastwrap-upgraded-'))
    await cp(DASHBOARD_DIR, upgraded, { recursive: true })
    const index = await readFile(join(upgraded, 'index.html'), 'utf8')
    const script = /assets\/(index-[^"]+\.js)/.exec(index)![1]!
    await cp(join(upgraded, 'assets', script), join(upgraded, 'assets', `new-${script}`))
    await writeFile(join(upgraded, 'index.html'), index.replace(script, `new-${script}`))
    try {
      const { page, server: daemon } = await open()
      await page.locator('[data-part="time"]').first().waitFor()
      // Its own pages are no upgrade.
      expect(await page.evaluate(() => sessionStorage.getItem('lastwrap.renewed_for'))).toBeNull()
      let loads = 0
      page.on('load', () => loads++)
      let isCacheOld = true
      await page.route(`${daemon.url}/`, (route) =>
        isCacheOld ? route.fulfill({ path: join(DASHBOARD_DIR, 'index.html') }) : route.continue(),
      )
      const hellos = () => page.waitForRequest(/api\/stream/)
      await Promise.all([page.waitForEvent('load'), daemon.stop().then(() => daemon.restart(upgraded))])
      await page.locator('[data-part="name"]').first().waitFor()
      // Told again that it is old, it stays as it is.
      await Promise.all([hellos(), daemon.stop().then(() => daemon.restart(upgraded))])
      await page.locator('[data-part="connection-lost"]').waitFor({ state: 'detached' })
      await page.locator('[data-part="time"]').first().waitFor()
      expect(loads).toBe(1)
      isCacheOld = false
      await page.reload()
      await page.locator('[data-part="name"]').first().waitFor()
      expect(await page.locator(`script[src*="new-${script}"]`).count()).toBe(1)
      expect(loads).toBe(2)
    } finally {
      await rm(upgraded, { recursive: true, force: true })
    }
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
  it('acknowledges an alarm by a click, and shows when', async () => {
    const { page, server: daemon } = await open()
    await page.getByRole('button', { name: /^Acknowledge .* on Sack line$/ }).click()
    const seen = lane(page, 'sack_line').locator('[data-part="acknowledged"]')
    await seen.waitFor()
    expect(await seen.textContent()).toMatch(/^seen \d\d:\d\d$/)
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
    // Who it was is kept, not hung on the wall.
    await lane(page, 'sack_line')
      .locator('[data-part="acknowledged"]')
      .getByText(/^seen \d\d:\d\d$/)
      .waitFor()
    expect(await page.locator('main').textContent()).not.toContain('Crew A')
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
    daemon.daemon.command = () => ({ key: 'refusal.alarm_gone' })
    await page.getByRole('button', { name: /^Acknowledge .* on Sack line$/ }).click()
    await page.getByRole('alert').getByText('Not done: This alarm does not stand any more.').waitFor()
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
    await page.getByText('Display', { exact: true }).click()
    await page.getByLabel('Colours').selectOption('dark')
    const dark = await ground()
    expect(dark).not.toBe(light)
    await page.reload()
    await page.locator('[data-part="name"]').first().waitFor()
    expect(await ground()).toBe(dark)
  })
})
