/** What holds in states that are no page of their own, in light and dark (`every-page.test.ts` has the pages): axe (WCAG 2.2 AA), no fault on the console, nothing from elsewhere, keyboard. */
import type { Page } from 'playwright-core'
import { describe, expect, it } from 'vitest'
import { violations } from '../support/axe.ts'
import { isNetworkFault, SCREENS } from '../support/browser.ts'
import { calmLanes } from '../support/calm-lanes.ts'
import type { DashboardOptions, DashboardServer } from '../support/dashboard-server.ts'
import { freshServers } from '../support/fresh-servers.ts'

const start = freshServers()

interface State {
  name: string
  path?: string
  options?: DashboardOptions
  viewport?: { width: number; height: number }
  ready: string
  act?: (page: Page, server: DashboardServer) => Promise<void>
  isCut?: boolean
}

const openFirst = async (page: Page) => {
  await page.locator('tbody a').first().click()
  await page.locator('.trace canvas').first().waitFor()
}

const STATES: State[] = [
  { name: 'wall in trouble', options: { labelPressAtS: 100 }, ready: '[data-part="wrong"]' },
  { name: 'wall, all well', options: { change: calmLanes(6) }, ready: '[data-part="time"]' },
  { name: 'wall in the hand', viewport: SCREENS.phone, ready: '[data-part="name"]' },
  {
    name: 'wall, connection lost',
    ready: '[data-part="name"]',
    act: async (page, daemon) => {
      await daemon.stop()
      await page.locator('[data-part="connection-lost"]').waitFor()
    },
    isCut: true,
  },
  {
    name: 'wall, caution open',
    ready: '[data-part="name"]',
    act: (page) => page.getByText('Not permission to reach in').click(),
  },
  {
    name: 'sign-in',
    options: { users: { 'Crew A': { role: 'operator', password: 'alder quay splices 9' } } },
    ready: '[data-part="name"]',
    act: async (page) => {
      await page.getByRole('button', { name: /on Sack line$/ }).click()
      await page.getByRole('dialog').waitFor()
    },
    isCut: true,
  },
  { name: 'wall without unwinds', options: { change: () => [] }, ready: '.empty' },
  { name: 'one splice', path: 'splices', ready: 'tbody tr', act: openFirst },
  { name: 'one splice on a phone', path: 'splices', viewport: SCREENS.phone, ready: 'tbody tr', act: openFirst },
  { name: 'no such page', path: 'nowhere', ready: 'h1' },
]

describe.each(['light', 'dark'] as const)('in %s', (colorScheme) => {
  it.each(STATES)('$name', async ({ path = '', options = {}, viewport = SCREENS.wall, ready, act, isCut }) => {
    const { page, server, faults, requests } = await start(path, options, { viewport, colorScheme })
    await page.locator(ready).first().waitFor()
    // The state of the sources comes with the first message: part of every page.
    await page.locator('.site').getByText('Alder Quay Works').waitFor()
    await act?.(page, server)
    expect(await violations(page)).toEqual([])
    // A refused sign-in and a cut connection are on the browser's console by themselves.
    expect(isCut === true ? faults.filter((fault) => !isNetworkFault(fault)) : faults).toEqual([])
    expect(requests.filter((address) => !address.startsWith(server.url))).toEqual([])
  })
})

describe('by keyboard', () => {
  it('everything on the wall is reached, acknowledged and left again', async () => {
    const { page } = await start('')
    await page.getByRole('button', { name: /on Sack line$/ }).waitFor()
    const names: string[] = []
    for (let i = 0; i < 14; i++) {
      await page.keyboard.press('Tab')
      names.push(
        await page.evaluate(() => {
          const at = document.activeElement
          return at?.getAttribute('aria-label') ?? at?.textContent ?? ''
        }),
      )
      if (/on Sack line$/.test(names.at(-1) ?? '')) break
    }
    expect(names[0]).toBe('Skip to content')
    expect(names.at(-1)).toMatch(/^Acknowledge .* on Sack line$/)
    const outline = await page.evaluate(() => getComputedStyle(document.activeElement!).outlineStyle)
    expect(outline).toBe('solid')
    await page.keyboard.press('Enter')
    await page.locator('[data-unwind="sack_line"] [data-part="acknowledged"]').waitFor()
  })

  it('a dialog is left by Escape, and nothing was done', async () => {
    const { page, server } = await start('', {
      users: { 'Crew A': { role: 'operator', password: 'alder quay splices 9' } },
    })
    await page.getByRole('button', { name: /on Sack line$/ }).click()
    await page.getByRole('dialog').waitFor()
    await page.keyboard.press('Escape')
    await page.getByRole('dialog').waitFor({ state: 'detached' })
    expect(server.daemon.commands).toEqual([])
  })
})
