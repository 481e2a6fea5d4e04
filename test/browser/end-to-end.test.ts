/**
 * The whole chain in one test: the demo plant's PLC and broker in a process of their own, the daemon that reaches them over
 * TCP, and a browser that reads what an operator and maintenance would.
 */
import { type ChildProcess, spawn } from 'node:child_process'
import { mkdtemp, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import type { Browser, Locator, Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { AlarmView, SpliceView, UnwindView } from '../../edge/api/messages.ts'
import type { FinishedRollView, JointEventRow } from '../../edge/joint-columns.ts'
import { launchBrowser, type OpenPage, openPage } from '../support/browser.ts'
import { secondsShown } from '../support/seconds-shown.ts'

const MAIN = fileURLToPath(new URL('../../edge/main.ts', import.meta.url))
/** The demo's rolls are sized so that the first splice comes within 90 s; its verdict falls when the joint
 * has gone through the process, or 60 s later. */
const FIRST_VERDICT_MS = 200_000
/** A crew of the demo is late about once in four rolls, and each line splices every 2 to 4 minutes. */
const FIRST_ALARM_MS = 420_000

let dataDir: string
let daemon: ChildProcess
let output = ''
let url: string
let browser: Browser
let opened: OpenPage

const startDaemon = (): Promise<string> =>
  new Promise((resolve, reject) => {
    daemon = spawn(process.execPath, [MAIN, 'start', '--data', dataDir, '--port', '0'], { stdio: 'pipe' })
    const read = (chunk: Buffer): void => {
      output += chunk.toString()
      const address = /Dashboard: (http:\S+)/.exec(output)?.[1]
      if (address !== undefined) resolve(address)
    }
    daemon.stdout?.on('data', read)
    daemon.stderr?.on('data', read)
    daemon.on('exit', (code) => reject(new Error(`The daemon ended with ${code}: ${output}`)))
  })

const ask = async <T>(path: string): Promise<T> => (await (await fetch(`${url}/${path}`)).json()) as T

beforeAll(async () => {
  dataDir = await mkdtemp(join(tmpdir(), 'lastwrap-end-to-end-'))
  url = (await startDaemon()).replace(/\/$/, '')
  browser = await launchBrowser()
  opened = await openPage(browser, `${url}/`)
}, 60_000)

afterAll(async () => {
  await browser?.close()
  const ended = new Promise((resolve) => daemon.once('exit', resolve))
  daemon.kill('SIGTERM')
  await ended
  await rm(dataDir, { recursive: true, force: true })
}, 30_000)

/** Waits for something on the page; if it does not come, says what stood there instead. */
const appears = async (locator: Locator, timeout: number): Promise<void> => {
  try {
    await locator.first().waitFor({ timeout })
  } catch (cause) {
    const text = await locator.page().locator('body').textContent()
    throw new Error(`It did not appear. The page:\n${text}\n\nThe daemon:\n${output}`, { cause })
  }
}

/** What a person types for a moment, in the plant's zone. */
const localField = (tMs: number): string =>
  new Intl.DateTimeFormat('sv-SE', { timeZone: 'Europe/Berlin', dateStyle: 'short', timeStyle: 'short' })
    .format(tMs)
    .replace(' ', 'T')

const figures = (page: Page, unwind: string) => page.locator(`[data-unwind="${unwind}"] [data-part="time"]`)
// One after the other on one daemon: each goes on from where the one before ended.
describe('from PLC and broker to the screen', () => {
  it('counts down for every unwind', async () => {
    const { page } = opened
    const unwinds = (await ask<UnwindView[]>('api/unwinds')).map(({ unwind }) => unwind)
    expect(unwinds).toHaveLength(3)
    await Promise.all(
      unwinds.map(async (unwind) => {
        await appears(figures(page, unwind), 30_000)
        const left = async () => secondsShown((await figures(page, unwind).textContent()) ?? '')
        const first = await left()
        await expect.poll(left, { timeout: 70_000 }).toBeLessThanOrEqual(first - 3)
      }),
    )
  })

  it(
    'shows a splice that happened, with its outcome and its trace',
    async () => {
      const { page } = opened
      await page.getByText('Pages', { exact: true }).click()
      await page.getByRole('link', { name: 'Splices' }).click()
      const row = page.locator('table.splices tbody tr').filter({ hasText: 'Label press' }).last()
      await appears(row, FIRST_VERDICT_MS)
      // The demo's script has no trouble in store for a line's first roll: that splice is good.
      await appears(row.locator('[data-outcome="good"]'), FIRST_VERDICT_MS)
      await row.locator('a').click()
      await appears(page.locator('.trace canvas'), 90_000)
      expect(await page.locator('[data-part="sentence"]').textContent()).toMatch(/^Label press spliced at .*CES?T;/)
      const id = decodeURIComponent(new URL(page.url()).pathname.split('/').at(-1) ?? '')
      const splice = await ask<SpliceView>(`api/splices/${id}`)
      expect(splice).toMatchObject({ unwind: 'label_press', outcome: 'good', cause: null })
      expect(await page.locator('.plot figcaption').allInnerTexts()).toEqual(
        expect.arrayContaining(['Diameter mm', 'Speeds m/min', 'Festoon m']),
      )
      await page.getByRole('link', { name: 'Wall' }).click()
      await page.locator('[data-part="name"]').first().waitFor()
    },
    2 * FIRST_VERDICT_MS,
  )

  it(
    'follows the joint to the rewinder, each arrival an event, and lists it by its finished roll',
    async () => {
      const { page } = opened
      const [first] = (await ask<SpliceView[]>('api/splices?unwind=label_press&outcome=good')).toReversed()
      const events = async () =>
        (await ask<JointEventRow[]>('api/joint-events?unwind=label_press'))
          .filter(({ joint }) => joint === first!.id)
          .map(({ station, event }) => `${station} ${event}`)
      const stations = ['Rewinder arrived', 'Die cutter arrived', 'Printing unit 1 arrived']
      await expect.poll(events, { timeout: 60_000 }).toEqual(stations)
      await page.goto(`${url}/finished-rolls`)
      await appears(page.locator(`a[href$="splices/${first!.id}"]`), 30_000)
      const rolls = await ask<FinishedRollView[]>('api/finished-rolls')
      const roll = rolls.find(({ joints }) => joints.some(({ joint }) => joint === first!.id))
      expect(roll).toMatchObject({
        unwind: 'label_press',
        station: 'Rewinder',
        roll: expect.stringMatching(/^F-\d{4}$/),
      })
      // A finished roll of the demo has 180 m; the first one began before anybody looked.
      for (const { metres } of roll!.joints) expect(metres ?? 0).toBeLessThan(182)
      await page.goto(`${url}/`)
      await page.locator('[data-part="name"]').first().waitFor()
    },
    FIRST_VERDICT_MS,
  )

  it(
    'has an alarm acknowledged by a click',
    async () => {
      const { page } = opened
      const button = page.getByRole('button', { name: /^Acknowledge / }).first()
      await appears(button, FIRST_ALARM_MS)
      // The demo is clickable after the one step that the start asks for.
      const setUp = /link, once, within 24 hours: (http:\S+)/.exec(output)?.[1] ?? 'no link was printed'
      await page.goto(setUp)
      await page.getByLabel('Your name').fill('Ada')
      await page.getByLabel('New password', { exact: true }).fill('alder quay splices 9')
      await page.getByLabel('The new password again').fill('alder quay splices 9')
      await page.getByRole('button', { name: 'Make the account' }).click()
      await page.getByRole('heading', { name: 'People' }).waitFor()
      await page.getByRole('link', { name: 'Wall' }).click()
      await appears(button, 10_000)
      const before = await ask<AlarmView[]>('api/alarms?standing=true')
      await button.click()
      const open = new Set(before.filter(({ acknowledged }) => acknowledged === null).map(({ id }) => id))
      const acknowledged = async () =>
        (await ask<AlarmView[]>('api/alarms')).filter(
          ({ id, acknowledged_by }) => open.has(id) && acknowledged_by !== null,
        )
      await expect.poll(acknowledged, { timeout: 10_000 }).toMatchObject([{ acknowledged_by: 'Ada' }])
      // No fault on the console and nothing from elsewhere in all this time.
      expect(opened.faults).toEqual([])
      expect(opened.requests.filter((address) => !address.startsWith(url))).toEqual([])
    },
    FIRST_ALARM_MS + 30_000,
  )

  it('takes a splice that no signal saw, and has it in the list, the report and the CSV', async () => {
    const { page } = opened
    await page.goto(`${url}/splices`)
    await page.getByText('Enter a splice that no signal saw').click()
    const form = page.locator('.by-hand form')
    await form.getByLabel('Where it was').selectOption({ label: 'Carton line' })
    // The whole minute of an hour ago: before the monitor was started.
    const startedMs = Math.floor(Date.now() / 60_000 - 60) * 60_000
    await form.getByLabel(/^Time/).fill(localField(startedMs))
    await form.locator('[name=outcome]').selectOption('failed')
    await form.locator('[name=cause]').selectOption('web_break')
    await form.getByLabel('Note').fill('=2 laps of tape')
    await form.getByRole('button', { name: 'Enter splice' }).click()
    const id = `carton_line-${startedMs}`
    const row = page.locator('table.splices tbody tr').filter({ has: page.locator(`a[href$="${id}"]`) })
    await appears(row.locator('[data-outcome="failed"]'), 10_000)
    await page.getByRole('link', { name: 'Report' }).click()
    await appears(page.locator(`a[href$="splices/${id}"]`), 10_000)
    const csv = await (await fetch(`${url}/api/splices.csv?unwind=carton_line`)).text()
    const [head = '', ...lines] = csv.split('\r\n')
    const cells = lines.find((line) => line.includes(id))?.split(',') ?? []
    const cell = (column: string) => cells[head.split(',').indexOf(column)]
    expect([cell('outcome'), cell('reviewed_outcome'), cell('reviewed_cause'), cell('entered_by_hand')]).toEqual([
      '',
      'failed',
      'web_break',
      'true',
    ])
    // Text that a spreadsheet would take for a formula stays text.
    expect(cell('notes')).toBe("'=2 laps of tape")
    await page.getByRole('link', { name: 'Trends' }).click()
    await page.getByLabel('Unwind').selectOption('carton_line')
    await appears(page.locator('[data-part="answer"]'), 10_000)
    expect(opened.faults).toEqual([])
  }, 60_000)
})
