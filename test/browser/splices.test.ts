/** Review as maintenance meets it: the list, its filters in the address, and one splice drawn second by second. */
import { createServer, request, type Server } from 'node:http'
import type { AddressInfo } from 'node:net'
import type { Browser, Page } from 'playwright-core'
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest'
import { launchBrowser, type OpenPage, openPage, SCREENS } from '../support/browser.ts'
import { type DashboardServer, startDashboard } from '../support/dashboard-server.ts'
import { pdfPages, pdfText } from '../support/pdf-text.ts'

let browser: Browser
let server: DashboardServer
let opened: OpenPage | undefined
beforeAll(async () => {
  browser = await launchBrowser()
  server = await startDashboard()
})
afterAll(async () => {
  await browser.close()
  await server.stop()
})
afterEach(async () => {
  await opened?.close()
  opened = undefined
})

const open = async (path: string, context: Parameters<typeof openPage>[2] = {}): Promise<Page> => {
  opened = await openPage(browser, `${server.url}/${path}`, { viewport: SCREENS.laptop, ...context })
  return opened.page
}
const rows = (page: Page) => page.locator('table.splices tbody tr')

/** What a canvas shows: how many of its points in a part of it are drawn, and in how many colours. */
const drawn = (page: Page, index: number, part: 'plot' | 'axis') =>
  page
    .locator('.trace canvas')
    .nth(index)
    .evaluate((element, which) => {
      const canvas = element as HTMLCanvasElement
      const axisPx = Math.round(48 * devicePixelRatio)
      const [left, width] = which === 'axis' ? [0, axisPx] : [axisPx * 2, canvas.width - axisPx * 2]
      const { data } = canvas.getContext('2d')!.getImageData(left, 0, width, canvas.height)
      const colours = new Map<string, number>()
      for (let i = 0; i < data.length; i += 4) {
        if (data[i + 3] === 0) continue
        const key = `${data[i]},${data[i + 1]},${data[i + 2]}`
        colours.set(key, (colours.get(key) ?? 0) + 1)
      }
      return { points: [...colours.values()].reduce((sum, count) => sum + count, 0), colours: colours.size }
    }, part)

describe('the list', () => {
  it('has outcome and cause in words, newest first, units in the header', async () => {
    const page = await open('splices')
    await rows(page).first().waitFor()
    const read = await server.daemon.splices({ limit: 200 })
    expect(await rows(page).count()).toBe(read.length)
    const times = await rows(page).locator('th').allInnerTexts()
    expect([...times].sort().reverse()).toEqual(times)
    const head = await page.locator('table.splices thead').textContent()
    for (const unit of ['mm', 'm/min', 's', 'm']) expect(head).toContain(unit)
    const failed = rows(page)
      .filter({ has: page.locator('[data-outcome="failed"]') })
      .first()
    expect(await failed.locator('.cell-outcome').textContent()).toContain('Failed')
    expect(await failed.locator('.cell-outcome svg').count()).toBe(1)
    expect(await failed.locator('.cell-cause').textContent()).not.toBe('')
  })

  it('keeps its filters in the address, through a reload and from a link', async () => {
    const page = await open('splices')
    await rows(page).first().waitFor()
    await page.getByLabel('Outcome').selectOption('failed')
    await page.waitForURL(/outcome=failed/)
    await page.getByLabel('Unwind').selectOption('label_press')
    await page.waitForURL(/unwind=label_press/)
    const expected = server.daemon.splices({ outcome: 'failed', unwind: 'label_press', limit: 200 }).length
    const all = server.daemon.splices({ limit: 200 }).length
    expect(expected).toBeGreaterThan(0)
    expect(expected).toBeLessThan(all)
    await page.waitForFunction((n) => document.querySelectorAll('table.splices tbody tr').length === n, expected)
    await page.reload()
    await rows(page).first().waitFor()
    expect(await rows(page).count()).toBe(expected)
    expect(await page.getByLabel('Outcome').inputValue()).toBe('failed')
    await page.getByRole('button', { name: 'Clear filters' }).click()
    await page.waitForFunction((n) => document.querySelectorAll('table.splices tbody tr').length === n, all)
    expect(new URL(page.url()).search).toBe('')
  })

  it('keeps what is being typed into its search while splices arrive, and searches for it on Enter or after a pause', async () => {
    const page = await open('splices')
    await rows(page).first().waitFor()
    const all = await rows(page).count()
    const [some] = server.daemon.splices({ limit: 1 })
    const search = page.getByLabel('Roll, material, note, or what was done')
    await search.pressSequentially('no such')
    // Everything that the page shows live is drawn anew under the typist's hands.
    server.daemon.emit('splice', { ...some!, flags: 'early' })
    await rows(page).first().getByText('early').waitFor()
    expect(await search.inputValue()).toBe('no such')
    await search.pressSequentially(' roll')
    await search.press('Enter')
    await page.waitForURL((url) => url.searchParams.get('text') === 'no such roll')
    await page.getByText('No splice matches these filters').waitFor()
    expect(await page.getByRole('link', { name: 'CSV' }).getAttribute('href')).toContain('text=no+such+roll')
    expect(await search.inputValue()).toBe('no such roll')
    await search.fill('')
    await page.waitForURL((url) => !url.searchParams.has('text'))
    await page.waitForFunction((n) => document.querySelectorAll('table.splices tbody tr').length === n, all)
    expect(await search.inputValue()).toBe('')
    server.daemon.emit('splice', some!)
  })

  it('reads times in the site zone', async () => {
    const page = await open('splices')
    await rows(page).first().waitFor()
    await page.getByLabel('From').fill('2026-03-02T07:00')
    // Europe/Berlin is UTC+1 on that day.
    await page.waitForURL((url) => url.searchParams.get('from') === '2026-03-02T06:00:00.000Z')
    expect(await page.getByLabel('From').inputValue()).toBe('2026-03-02T07:00')
  })

  it('explains itself when nothing matches, and when an address is refused', async () => {
    const page = await open('splices?to=2020-01-01T00:00:00Z')
    await page.getByText('No splice matches these filters').waitFor()
    await page.goto(`${server.url}/splices?from=yesterday`)
    await page
      .getByRole('alert')
      .getByText(/no time with a zone/)
      .waitFor()
  })

  it('shows a splice that happens meanwhile, and its verdict when it falls', async () => {
    const page = await open('splices')
    await rows(page).first().waitFor()
    const before = await rows(page).count()
    const [some] = server.daemon.splices({ limit: 1 })
    const started = new Date(Date.parse(some!.started) + 1000).toISOString()
    const fresh = {
      ...some!,
      id: 'label_press-1',
      started,
      outcome: null,
      cause: null,
      closed: false,
      has_trace: false,
    }
    server.daemon.emit('splice', fresh)
    await rows(page).first().getByText('Going on').waitFor()
    server.daemon.emit('splice', { ...fresh, outcome: 'failed', cause: 'web_break', closed: true })
    await rows(page).first().getByText('web break').waitFor()
    expect(await rows(page).count()).toBe(before + 1)
  })

  it('becomes cards on a phone, without scrolling sideways', async () => {
    const page = await open('splices', { viewport: SCREENS.phone })
    await rows(page).first().waitFor()
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(390)
  })
})

describe('one splice', () => {
  const openFailed = async (page: Page) => {
    await rows(page)
      .filter({ has: page.locator('[data-outcome="failed"]') })
      .first()
      .locator('a')
      .click()
    await page.locator('.trace canvas').first().waitFor()
  }

  it('begins with what happened, and draws it on one time axis', async () => {
    const page = await open('splices')
    await openFailed(page)
    expect(await page.locator('[data-part="sentence"]').textContent()).toMatch(/^The splice of .* failed: .*\.$/)
    expect(await page.locator('[data-part="zero"]').textContent()).toMatch(
      /seconds from the transfer at \d\d:\d\d:\d\d CET/,
    )
    const titles = await page.locator('.plot figcaption').allInnerTexts()
    expect(titles.slice(0, 3)).toEqual(['Diameter mm', 'Speeds m/min', 'Festoon m'])
    for (let index = 0; index < 3; index++) {
      const plot = await drawn(page, index, 'plot')
      expect(plot.points).toBeGreaterThan(2000)
      expect(plot.colours).toBeGreaterThan(4)
      const axis = await drawn(page, index, 'axis')
      expect(axis.points, 'figures and unit beside the plot').toBeGreaterThan(100)
    }
    // All panels begin and end at the same place.
    const edges = await page
      .locator('.trace .u-over')
      .evaluateAll((plots) =>
        plots.map((plot) => [plot.getBoundingClientRect().left, plot.getBoundingClientRect().right]),
      )
    expect(new Set(edges.map(String)).size).toBe(1)
    const phases = await page.locator('.phases tbody th').allInnerTexts()
    expect(phases).toContain('Stopped')
  })

  it('moves one cursor through all panels', async () => {
    const page = await open('splices')
    await openFailed(page)
    await page
      .locator('.trace .u-over')
      .first()
      .hover({ position: { x: 200, y: 40 } })
    const lines = await page
      .locator('.trace .u-cursor-x')
      .evaluateAll((cursors) => cursors.map((cursor) => (cursor as HTMLElement).style.transform))
    expect(new Set(lines).size).toBe(1)
    expect(lines[0]).toContain('200px')
    expect(await page.locator('.trace .u-legend').nth(1).textContent()).toMatch(/line:?\s*\d+\.\d m\/min/)
  })

  it('opens from its own address, and says so where there is none', async () => {
    const [some] = server.daemon.splices({ outcome: 'failed', limit: 1 })
    const page = await open(`splices/${some!.id}`)
    await page.locator('.trace canvas').first().waitFor()
    await page.getByRole('link', { name: 'All splices' }).click()
    await rows(page).first().waitFor()
    await page.goBack()
    await page.locator('.trace canvas').first().waitFor()
    await page.goto(`${server.url}/splices/label_press-7`)
    await page.getByText('This splice is not in the history').waitFor()
  })

  it('is drawn anew in other colours', async () => {
    const [some] = server.daemon.splices({ outcome: 'failed', limit: 1 })
    const page = await open(`splices/${some!.id}`, { colorScheme: 'light' })
    const canvas = page.locator('.trace canvas').first()
    await canvas.waitFor()
    const picture = () => canvas.evaluate((element) => (element as HTMLCanvasElement).toDataURL())
    const light = await picture()
    await page.emulateMedia({ colorScheme: 'dark' })
    await page.waitForFunction(
      (before) => (document.querySelector('.trace canvas') as HTMLCanvasElement | null)?.toDataURL() !== before,
      light,
    )
  })

  it('fits a phone', async () => {
    const [some] = server.daemon.splices({ outcome: 'failed', limit: 1 })
    const page = await open(`splices/${some!.id}`, { viewport: SCREENS.phone })
    await page.locator('.trace canvas').first().waitFor()
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(390)
  })
})

describe('last night’s failed splice', () => {
  it('is found, read, noted, judged anew and printed', async () => {
    const page = await open('splices?outcome=failed&unwind=sack_line')
    await rows(page).first().locator('a').click()
    // The reason in words, and beside it what is usual.
    const why = page.locator('[data-part="why"]')
    await why.waitFor()
    expect(await why.textContent()).toMatch(
      /^The stop took 7\.8 s, usually 1\.6 s: .* reached its end 0\.9 s before the web moved\./,
    )
    await page.getByLabel('It was').selectOption({ label: 'Missed' })
    await page.getByLabel('The thing that caused it').selectOption({ label: 'Vacuum weak' })
    await page.getByLabel('Note').fill('Filter of the vacuum was full of dust')
    await page.getByText('What was done, and web that was measured').click()
    await page.getByLabel('Vacuum filter cleaned').check()
    await page.getByRole('button', { name: 'Add', exact: true }).click()
    await page.locator('.entries').getByText('Filter of the vacuum was full of dust').waitFor()
    // The form is empty again, the headline follows the people, and the signals' word stays.
    expect(await page.getByLabel('Note').inputValue()).toBe('')
    expect(await page.locator('[data-part="sentence"]').textContent()).toContain(
      'people say “Missed”, the signals said “Failed, cycle too slow”',
    )
    // Paper of both kinds: the words, the plots, the cautions, and no controls.
    for (const [format, height] of [
      ['A4', 842],
      ['Letter', 792],
    ] as const) {
      const pdf = await page.pdf({ format })
      expect(Math.round(pdfPages(pdf)[0]!.height / 2)).toBe(Math.round(height / 2))
      const text = pdfText(pdf)
      expect(text).toContain('Filterofthevacuumwasfullofdust')
      expect(text).toMatch(/Thestoptook7\.8s.*Secondbysecond.*themonitoronlyreads/)
      expect(text).not.toContain('Addtothissplice')
    }
    // The plots are drawn anew in the width of the paper.
    await page.emulateMedia({ media: 'print' })
    await page.waitForFunction(() => document.querySelector('.trace canvas')?.clientWidth === 690)
    await page.emulateMedia({ media: 'screen' })
    await page.getByRole('link', { name: 'All splices' }).click()
    const judged = rows(page).filter({ has: page.locator('.said') })
    expect(await judged.locator('.cell-outcome').textContent()).toContain('Missed')
  })

  it('is taken back what was said of it by mistake: struck through, with who did it, also after a reload', async () => {
    const [failed] = server.daemon.splices({ outcome: 'failed', limit: 1 })
    const page = await open(`splices/${failed!.id}`)
    const headline = page.locator('[data-part="sentence"]')
    await headline.waitFor()
    const before = await headline.textContent()
    await page.getByLabel('It was').selectOption({ label: 'Good' })
    await page.getByLabel('Note').fill('Meant the splice before')
    await page.getByRole('button', { name: 'Add', exact: true }).click()
    await page.getByText('Meant the splice before').waitFor()
    expect(await headline.textContent()).toContain('people say “Good”')
    const mistake = page.locator('.entries li', { hasText: 'Meant the splice before' })
    await mistake.getByRole('button', { name: 'Take back' }).click()
    await mistake.getByRole('button', { name: 'Keep it' }).click()
    await mistake.getByRole('button', { name: 'Take back' }).click()
    await mistake.getByRole('button', { name: 'Take it back' }).click()
    for (const reload of [false, true]) {
      if (reload) await page.reload()
      await mistake.locator('del', { hasText: 'Meant the splice before' }).waitFor()
      expect(await mistake.textContent()).toMatch(/Taken back by local, 2026-/)
      expect(await headline.textContent()).toBe(before)
      expect(await mistake.getByRole('button').count()).toBe(0)
      expect(await page.locator('.entries li').count()).toBe(1)
    }
  })

  it('that went bad is laid beside a good one, by an address that can be sent, on screen and on paper', async () => {
    const failed = server.daemon
      .splices({ outcome: 'failed', unwind: 'label_press', limit: 9 })
      .find((one) => one.has_trace)!
    const page = await open(`splices/${failed.id}`)
    await page.locator('.trace canvas').first().waitFor()
    const choice = page.getByLabel('Lay beside it')
    await choice.locator('optgroup').first().waitFor({ state: 'attached' })
    const last = await choice.locator('optgroup[label="Last good of this splicer"] option').getAttribute('value')
    await choice.selectOption(last)
    await page.waitForURL((url) => url.searchParams.get('beside') === last)
    await page.getByText('line, beside').waitFor()
    // From its address alone, as pasted into a work order.
    await page.reload()
    await page.getByText('line, beside').waitFor()
    const good = server.daemon.splice(last!)!
    const stopped = page.locator('.beside tbody tr').filter({ hasText: 'Stopped' }).locator('td')
    const seconds = good.phases.find(({ phase }) => phase === 'stopped')!.seconds!.toFixed(2)
    expect(await stopped.nth(1).textContent()).toBe(seconds)
    const text = pdfText(await page.pdf({ format: 'A4' }))
    expect(text).toMatch(/Sidebyside/)
    expect(text).toContain(`beside=${last}`)
    expect(text).not.toContain('Laybesideit')
    await page.goto(`${server.url}/splices/${failed.id}?beside=label_press-1`)
    await page
      .getByRole('alert')
      .getByText(/not in the history/)
      .waitFor()
  })

  it('that came early is not said until somebody taps, and returned prints a label', async () => {
    const early = server.daemon.splices({ limit: 99 }).find(({ flags }) => flags.includes('early'))!
    const page = await open(`splices/${early.id}`)
    await page.locator('[data-part="waste-not_said"]').waitFor()
    // It asks where the page begins, and only what fits what happened.
    const asks = page.locator('[data-part="early"]')
    expect((await asks.boundingBox())!.y).toBeLessThan(SCREENS.laptop.height / 2)
    await asks.getByRole('button', { name: 'Pressed by mistake' }).waitFor()
    await page.route('**/api/splices?*', (route) => route.fulfill({ json: [] }))
    await page.route(`**/api/splices/${early.id}`, (route) => route.fulfill({ json: { ...early, outcome: 'aborted' } }))
    await page.reload()
    await asks.getByText('broke off; the old roll ran on').waitFor()
    expect(await page.getByRole('button', { name: 'Returned' }).count()).toBe(0)
    await page.unrouteAll()
    await page.reload()
    const tap = page.getByRole('button', { name: 'Returned' })
    expect((await tap.boundingBox())!.height).toBeGreaterThanOrEqual(57)
    await tap.click()
    await page.locator('[data-part="waste-stub"]').waitFor()
    await page.getByRole('link', { name: 'Stub label' }).click()
    await page.locator('.label .barcode path').waitFor()
    const text = pdfText(await page.pdf({ format: 'A4' }))
    expect(text).toContain(`100m8.3kg80%sure:95to105m${early.details.roll_id}`)
    expect(new URL(page.url()).search).toBe('?label')
  })
})

describe('behind a proxy under a sub-path', () => {
  let proxy: Server
  beforeAll(async () => {
    proxy = createServer((incoming, outgoing) => {
      const path = (incoming.url ?? '').replace(/^\/hall\/unwinds/, '')
      const onward = request(
        `${server.url}${path}`,
        { method: incoming.method, headers: incoming.headers },
        (answer) => {
          outgoing.writeHead(answer.statusCode ?? 502, answer.headers)
          answer.pipe(outgoing)
        },
      )
      onward.on('error', () => outgoing.destroy())
      outgoing.on('close', () => onward.destroy())
      incoming.pipe(onward)
    })
    await new Promise<void>((resolve) => proxy.listen(0, '127.0.0.1', resolve))
  })
  afterAll(() => {
    proxy.closeAllConnections()
    proxy.close()
  })

  it('every page works, from a link and from its address', async () => {
    const base = `http://127.0.0.1:${(proxy.address() as AddressInfo).port}/hall/unwinds/`
    opened = await openPage(browser, base, { viewport: SCREENS.laptop })
    const { page } = opened
    await page.locator('[data-part="time"]').first().waitFor()
    await page.getByText('Pages', { exact: true }).click()
    await page.getByRole('link', { name: 'Splices' }).click()
    await rows(page).first().waitFor()
    expect(page.url()).toBe(`${base}splices`)
    await rows(page).first().locator('a').click()
    await page.locator('.trace canvas').first().waitFor()
    await page.reload()
    await page.locator('.trace canvas').first().waitFor()
    expect(opened.faults).toEqual([])
    expect(opened.requests.filter((address) => !address.startsWith(base))).toEqual([])
  })
})
