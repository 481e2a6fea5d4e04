/**
 * Screenshots of every page, for looking at: `npm run shots` writes them to `shots/`. Needs nothing that runs already.
 * An argument restricts them to names that contain it; `--screens wall,fourk,dense` chooses screens (default: wall, laptop, phone).
 */
import { mkdir } from 'node:fs/promises'
import { fileURLToPath } from 'node:url'
import { parseArgs } from 'node:util'
import type { Page } from 'playwright-core'
import { launchBrowser, openPage, SCREENS } from '../support/browser.ts'
import buildDashboard from '../support/build-dashboard.ts'
import { calmLanes } from '../support/calm-lanes.ts'
import { type DashboardOptions, type DashboardServer, startDashboard } from '../support/dashboard-server.ts'
import { TROUBLES, troubledLanes } from '../support/troubled-lanes.ts'

const OUT = fileURLToPath(new URL('../../shots/', import.meta.url))
const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: { screens: { type: 'string', default: Object.keys(SCREENS).join(',') } },
})
const only = positionals[0] ?? ''
const ALL_SCREENS: Record<string, { viewport: { width: number; height: number }; deviceScaleFactor?: number }> = {
  ...Object.fromEntries(Object.entries(SCREENS).map(([name, viewport]) => [name, { viewport }])),
  // 4K as it comes, and as a system shows it that draws everything at twice the size.
  fourk: { viewport: { width: 3840, height: 2160 } },
  dense: { viewport: { width: 1920, height: 1080 }, deviceScaleFactor: 2 },
}
const screens = values.screens.split(',').map((name) => {
  const screen = ALL_SCREENS[name]
  if (screen === undefined) throw new Error(`There is no screen "${name}": ${Object.keys(ALL_SCREENS).join(', ')}.`)
  return [name, screen] as const
})

interface Shot {
  options?: DashboardOptions
  name: string
  path: string
  ready: string
  prepare?: (page: Page, server: DashboardServer) => Promise<void>
}

const SHOTS: Shot[] = [
  { name: 'wall', path: '', ready: '[data-part="time"], [data-part="time-words"]' },
  { name: 'wall-calm', path: '', ready: '[data-part="time"]', options: { change: calmLanes(4) } },
  {
    name: 'wall-twelve',
    path: '',
    ready: '[data-part="time"]',
    options: { change: calmLanes(12), wall: { screen_diagonal: 1.0922, distance: 3 } },
  },
  ...Object.entries(TROUBLES).flatMap(([when, troubles]) =>
    ['en', 'de', 'es'].map(
      (language): Shot => ({
        name: `wall-trouble-${when.replaceAll(' ', '-')}-${language}`,
        path: '',
        ready: '[data-part="verb"]',
        options: { change: troubledLanes(troubles, language), language },
      }),
    ),
  ),
  { name: 'wall-six', path: '', ready: '[data-part="time"]', options: { change: calmLanes(6) } },
  { name: 'unwind', path: 'unwinds/label_press', ready: '.past-chart canvas' },
  { name: 'unwind-standing', path: 'unwinds/laminator_inner', ready: '.stages' },
  { name: 'unwind-unknown', path: 'unwinds/sack_line', ready: '.stages' },
  { name: 'alarms', path: 'alarms', ready: '.standing' },
  { name: 'handover', path: 'handover', ready: '.handover-parts' },
  { name: 'signals', path: 'signals', ready: '.tags' },
  { name: 'splices', path: 'splices', ready: 'table' },
  { name: 'trends', path: 'trends?unwind=label_press', ready: '.services' },
  { name: 'report', path: 'report', ready: '.shares' },
  { name: 'splices-empty', path: 'splices?unwind=label_press&to=2020-01-01T00:00:00Z', ready: '.empty' },
  {
    name: 'splice',
    path: 'splices',
    ready: 'table',
    prepare: async (page) => {
      await page.locator('tbody a').first().click()
      await page.locator('.trace canvas').first().waitFor()
    },
  },
  {
    name: 'splice-said',
    path: 'splices?outcome=failed',
    ready: 'table',
    prepare: async (page) => {
      await page.locator('tbody a').first().click()
      await page.locator('.trace canvas').first().waitFor()
      const add = async (outcome: string, note: string) => {
        await page.locator('select[name="outcome"]').selectOption(outcome)
        await page.locator('textarea[name="note"]').fill(note)
        await page.locator('.entry button[type="submit"]').click()
        await page.getByText(note).waitFor()
      }
      await add('good', 'Meant the splice before')
      await page.locator('button.take-back').click()
      await page.locator('.take-back .taps button').first().click()
      await page.locator('.entries del').first().waitFor()
      await add('failed', 'Tail was carried along')
      await page.locator('button.take-back').click()
      await page.locator('.entries').scrollIntoViewIfNeeded()
    },
  },
  {
    name: 'wall-lost',
    path: '',
    ready: '[data-part="time"]',
    prepare: async (page, server) => {
      await server.stop()
      await page.locator('[data-part="connection-lost"]').waitFor()
    },
  },
]

await buildDashboard()
await mkdir(OUT, { recursive: true })
const browser = await launchBrowser()
try {
  for (const shot of SHOTS) {
    for (const [screen, context] of screens) {
      for (const colorScheme of ['light', 'dark'] as const) {
        const name = `${shot.name}-${screen}-${colorScheme}`
        if (!name.includes(only)) continue
        const server = await startDashboard({ labelPressAtS: 95, ...shot.options })
        const { page, faults, close } = await openPage(browser, `${server.url}/${shot.path}`, {
          ...context,
          colorScheme,
        })
        await page.locator(shot.ready).first().waitFor()
        await shot.prepare?.(page, server)
        await page.waitForTimeout(1200)
        await page.screenshot({ path: `${OUT}${name}.png`, fullPage: screen === 'phone' })
        console.log(name, faults.length > 0 ? faults : '')
        await close()
        await server.stop()
      }
    }
  }
} finally {
  await browser.close()
}
