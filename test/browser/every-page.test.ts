/**
 * Every page in every main state, for each of the people, on one server: axe in light and dark, on a laptop and in the hand, no
 * fault on the console, nothing from elsewhere, and all of it by keyboard. A page that is added fails here until it is listed.
 */
import type { Browser, Page } from 'playwright-core'
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest'
import { type PageName, pageEntries } from '../../dashboard/frame/pages.ts'
import { violations } from '../support/axe.ts'
import { isNetworkFault, launchBrowser, type OpenPage, openPage, SCREENS } from '../support/browser.ts'
import { type DashboardServer, startDashboard } from '../support/dashboard-server.ts'
import { walkByTab } from '../support/keyboard.ts'

const PASSWORD = 'alder quay splices 9'
const USERS = {
  'Crew A': { role: 'operator', password: PASSWORD },
  Ada: { role: 'engineer', password: PASSWORD },
} as const

interface Listed {
  path: string
  /** When it is there, for somebody who may read it. */
  ready: string
  /** An answer without anything in it, by what the page asks for; null where the page asks for nothing. */
  empty: Readonly<Record<string, unknown>> | null
}

const NO_SIGNALS = { time: '2026-03-02T06:00:00Z', since: '2026-03-02T06:00:00Z', sources: [], tags: [] }
const NO_HANDOVER = {
  ...{ time: '2026-03-02T06:00:00Z', shift_began: '2026-03-02T06:00:00Z', last_bad: [], taken_over: null },
  ...{
    unwinds: [],
    stubs: [],
    standing: [],
    aside: [],
    wrong_rolls: [],
    notes: [],
    changes: [],
    services: [],
    joints: [],
  },
}
const LISTED: Partial<Record<PageName, Listed>> = {
  unwind: { path: 'unwinds/label_press', ready: '.stages', empty: { unwinds: null } },
  splices: { path: 'splices', ready: 'table.splices', empty: { 'api/splices?': [], 'api/splices': [] } },
  finished_rolls: { path: 'finished-rolls', ready: 'main h1', empty: { 'api/finished-rolls': [] } },
  trends: { path: 'trends?unwind=label_press', ready: '.services', empty: null },
  report: { path: 'report', ready: '.shares', empty: null },
  alarms: { path: 'alarms', ready: '.standing', empty: { 'api/alarms': [] } },
  handover: { path: 'handover', ready: '.handover-parts', empty: { 'api/handover': NO_HANDOVER } },
  signals: { path: 'signals', ready: '.tags', empty: { 'api/signals': NO_SIGNALS } },
  people: { path: 'people', ready: '.people-table', empty: null },
  audit: { path: 'audit', ready: '.audit-table', empty: { 'api/audit': [] } },
  account: { path: 'account', ready: 'form', empty: null },
  set_up: { path: 'set-up', ready: 'h1', empty: null },
}
/** Looked at elsewhere: the wall has tests of its own, and these two are the pages above under another address. */
const ELSEWHERE: readonly PageName[] = ['wall', 'unwinds', 'splice']
const PAGES = Object.entries(LISTED)
const FOR_ENGINEERS = ['people', 'audit']

let browser: Browser
let server: DashboardServer
let opened: OpenPage
let page: Page
beforeAll(async () => {
  browser = await launchBrowser()
  server = await startDashboard({ labelPressAtS: 95, users: USERS })
})
afterAll(async () => {
  await browser.close()
  await server.stop()
})
afterEach(() => opened.close())

const open = async (path: string, viewport: { width: number; height: number } = SCREENS.laptop): Promise<void> => {
  opened = await openPage(browser, `${server.url}/${path}`, { viewport })
  page = opened.page
}
const go = async ({ path, ready }: Pick<Listed, 'path' | 'ready'>): Promise<void> => {
  await page.goto(`${server.url}/${path}`)
  await page.locator(ready).first().waitFor()
  await page.locator('.site').getByText('Alder Quay Works').waitFor()
}
/** As it stands, in light and in dark. */
const look = async (): Promise<string[]> => {
  const light = await violations(page)
  await page.emulateMedia({ colorScheme: 'dark' })
  const dark = await violations(page, 'colours')
  await page.emulateMedia({ colorScheme: 'light' })
  return [...light, ...dark.map((one) => `dark: ${one}`)]
}
const signIn = async (person: string): Promise<void> => {
  await go({ path: 'account', ready: 'input[type="password"]' })
  await page.getByLabel('Your name').fill(person)
  await page.getByLabel('Password', { exact: true }).fill(PASSWORD)
  await page.getByRole('button', { name: 'Sign in', exact: true }).click()
  await page.getByText('You may act here').waitFor()
}
/** What sticks out at the right of the screen; empty where nothing does. */
const sticksOut = () =>
  page.evaluate(() => {
    const { scrollWidth, clientWidth } = document.documentElement
    if (scrollWidth <= clientWidth) return []
    return [...document.querySelectorAll('body *')]
      .filter((element) => element.getBoundingClientRect().right > clientWidth + 1)
      .map((element) => `${element.tagName} ${element.className} ${Math.round(element.getBoundingClientRect().right)}`)
      .slice(0, 12)
  })

it('is listed', async () => {
  await open('account')
  const names = pageEntries.map(([name]) => name).filter((name) => !ELSEWHERE.includes(name))
  expect(names.filter((name) => LISTED[name] === undefined)).toEqual([])
})

describe('every page', () => {
  it('is accessible and fits, on a laptop and in the hand, and asks nobody else: as an engineer', async () => {
    await open('')
    await signIn('Ada')
    for (const [name, listed] of PAGES) {
      await go(listed)
      expect(await look(), name).toEqual([])
      await page.setViewportSize(SCREENS.phone)
      await expect.poll(sticksOut, { message: `${name} fits a phone` }).toEqual([])
      expect(await look(), `${name} in the hand`).toEqual([])
      await page.setViewportSize(SCREENS.laptop)
    }
    expect(opened.faults).toEqual([])
    expect(opened.requests.filter((address) => !address.startsWith(server.url))).toEqual([])
  })

  it.each(['nobody', 'Crew A'])('that only engineers read says so and shows the way in: to %s', async (person) => {
    await open('')
    if (person !== 'nobody') await signIn(person)
    for (const path of FOR_ENGINEERS) {
      await go({ path, ready: '[role="alert"]' })
      expect(await page.getByRole('alert').textContent()).toMatch(
        person === 'nobody' ? /Sign in first/ : /needs the role/,
      )
      await page.locator('main').getByRole('button', { name: 'Sign in' }).click()
      await page.getByRole('dialog').waitFor()
      expect(await look(), path).toEqual([])
    }
  })

  it('without anything to show says why, and what it would show', async () => {
    await open('')
    await signIn('Ada')
    for (const [name, listed] of PAGES) {
      if (listed.empty === null) continue
      for (const [address, json] of Object.entries(listed.empty)) {
        if (json !== null) await page.route(`**/${address}*`, (route) => route.fulfill({ json }))
      }
      await go({ path: name === 'unwind' ? 'unwinds/none' : listed.path, ready: 'main h1' })
      await page.locator('main .empty, main .question').first().waitFor()
      expect(await look(), name).toEqual([])
      await page.unrouteAll()
    }
    expect(opened.faults).toEqual([])
  })

  it('that cannot be read says why and offers to try again', async () => {
    await open('')
    await signIn('Ada')
    const error = 'The daemon failed to answer this request: its log says why.'
    for (const [name, { path }] of PAGES) {
      if (['unwind', 'account', 'set_up'].includes(name)) continue
      await page.route(
        /\/api\/(splices|unwinds\/|report|alarms|handover|signals|users|audit|maintenance|log|finished-rolls)/,
        (route) => route.fulfill({ status: 500, json: { error, code: 'internal' } }),
      )
      await go({ path, ready: '.fault' })
      expect(await page.locator('.fault').first().textContent(), name).toContain(error)
      expect(await look(), name).toEqual([])
      await page.unrouteAll()
      await page.locator('.fault button').first().click()
      await page.locator('.fault').first().waitFor({ state: 'detached' })
    }
  })

  it('looks dead when the connection is lost, and is accessible then', async () => {
    await open('')
    await signIn('Ada')
    // Their code is fetched when they are first asked for.
    for (const [, listed] of PAGES) await go(listed)
    await go({ path: 'alarms', ready: '.standing' })
    const names = ['Handover', 'Signals', 'Splices', 'Report', 'Trends', 'People', 'Audit', 'Alarms']
    const follow = async (name: string): Promise<void> => {
      const link = page.getByRole('navigation', { name: 'Pages' }).getByRole('link', { name, exact: true })
      await link.click()
      await page.locator('nav [aria-current="page"]').getByText(name).waitFor()
      await page.locator('main h1').waitFor()
    }
    for (const name of names) {
      await follow(name)
    }
    await server.stop()
    await page.locator('[data-part="connection-lost"]').waitFor()
    expect(await page.locator('.is-dead').count()).toBeGreaterThan(0)
    for (const name of names) {
      await follow(name)
      expect(await page.locator('[data-part="connection-lost"]').isVisible(), name).toBe(true)
      expect(await look(), name).toEqual([])
    }
    await server.restart()
    await page.locator('[data-part="connection-lost"]').waitFor({ state: 'detached' })
    expect(opened.faults.filter((fault) => !isNetworkFault(fault))).toEqual([])
  })

  it('is walked by Tab: everything is come to, seen, and left again', async () => {
    await open('')
    await signIn('Ada')
    for (const [name, listed] of PAGES) {
      if (name === 'unwind') continue
      await go(listed)
      const { missed, unseen, stops } = await walkByTab(page)
      expect({ missed, unseen }, name).toEqual({ missed: [], unseen: [] })
      expect(stops, name).toBeLessThan(600)
    }
  })
})
