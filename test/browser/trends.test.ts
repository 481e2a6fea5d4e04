/** Trends and reports as maintenance and a crew lead meet them: the answer, one tap for a service, a report on paper. */
import type { Browser } from 'playwright-core'
import { afterAll, beforeAll, expect, it } from 'vitest'
import { launchBrowser, openPage, SCREENS } from '../support/browser.ts'
import { type DashboardServer, startDashboard } from '../support/dashboard-server.ts'

let browser: Browser
let server: DashboardServer
beforeAll(async () => {
  browser = await launchBrowser()
  server = await startDashboard()
})
afterAll(async () => {
  await browser.close()
  await server.stop()
})

it('what gets worse is said first, drawn, and over once somebody saw to it', async () => {
  const { page, close, faults } = await openPage(browser, `${server.url}/trends?unwind=label_press`, {
    viewport: SCREENS.laptop,
  })
  await page.locator('.trend').first().waitFor()
  expect(await page.locator('[data-part=answer]').textContent()).toMatch(
    /yes.*Stop length grew from 1\.\d\d s to 1\.\d\d s/s,
  )
  expect(await page.locator('[data-metric="stop"]').getAttribute('data-drifts')).toBe('true')
  expect(await page.locator('.trend').count()).toBe(8)
  expect(await page.locator('.changes tbody tr').count()).toBe(5)
  const filter = page.getByRole('button', { name: 'Vacuum filter cleaned now' })
  const box = (await filter.boundingBox())!
  // 15 mm at 96 pixels an inch are 57.
  expect(Math.min(box.width, box.height)).toBeGreaterThanOrEqual(57)
  await page.getByLabel('Batch').fill('T-2300')
  await page.getByRole('button', { name: 'Tape changed now' }).click()
  await page.getByText('Tape changed, batch T-2300').waitFor()
  await filter.click()
  await page.getByText('Nothing waits').waitFor()
  expect(await page.locator('[data-part="answer"]').textContent()).toContain('Nothing has left what is usual')
  expect(faults).toEqual([])
  await close()
})

it('a report is of a shift of the site, with one scale for all its plots, and says on paper when and by whom', async () => {
  const signed = await startDashboard({ users: { Ada: { role: 'operator', password: 'alder quay splices 9' } } })
  const { page, close, faults } = await openPage(browser, `${signed.url}/report`, { viewport: SCREENS.laptop })
  await page.getByText('By tape batch').waitFor()
  const starts = await page.locator('.shares .plot-head span:first-child').allTextContents()
  expect(starts.length).toBeGreaterThan(2)
  expect(new Set(starts).size).toBe(1)
  await page.getByRole('button', { name: 'This shift' }).click()
  await page.waitForURL(/from=/)
  const times = new URL(page.url()).searchParams
  const hours = (Date.parse(times.get('to')!) - Date.parse(times.get('from')!)) / 3_600_000
  expect([7, 8, 9]).toContain(hours)
  const printed = page.locator('[data-part="printed"]')
  expect(await printed.isVisible()).toBe(false)
  expect(await printed.textContent()).toMatch(/^Printed \d{4}-\d\d-\d\d \d\d:\d\d CES?T$/)
  await page.evaluate(() =>
    fetch('/api/sign-in', {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ person: 'Ada', password: 'alder quay splices 9' }),
    }),
  )
  await page.reload()
  await printed.waitFor({ state: 'attached' })
  await page.emulateMedia({ media: 'print' })
  await expect.poll(() => printed.textContent()).toMatch(/ CES?T by Ada$/)
  expect(await printed.isVisible()).toBe(true)
  expect(faults).toEqual([])
  await close()
  await signed.stop()
})

it('a week goes to paper with its answer, its plots and its cautions', async () => {
  const { page, close, faults } = await openPage(browser, `${server.url}/report`, { viewport: SCREENS.laptop })
  await page.getByRole('button', { name: 'Last 7 days' }).click()
  await page.getByText('By tape batch').waitFor()
  expect(page.url()).toContain('from=')
  expect(await page.locator('[data-part=answer]').textContent()).toMatch(
    /^\d+ of \d+ splices were good: \d+\.\d % \(95 % interval/,
  )
  await page.emulateMedia({ media: 'print', colorScheme: 'dark' })
  expect(await page.getByRole('button', { name: 'Print' }).isVisible()).toBe(false)
  expect(await page.locator('.shares svg').first().isVisible()).toBe(true)
  expect(await page.locator('.cautions').textContent()).toContain('not for judging persons')
  for (const format of ['A4', 'Letter']) {
    const pdf = (await page.pdf({ format })).toString('latin1')
    // Nothing is cut off: every page of the document is as wide as its paper.
    expect(pdf.match(/\/Type \/Page\b/g)!.length, format).toBeLessThanOrEqual(6)
  }
  expect(await page.evaluate(() => document.documentElement.scrollWidth <= window.innerWidth)).toBe(true)
  expect(faults).toEqual([])
  await close()
})
