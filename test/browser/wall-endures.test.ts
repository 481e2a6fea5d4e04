/**
 * A day on the wall in a few seconds: the real pages in a real browser, on a clock and a stream that the test moves. What a
 * day leaves behind has to be nothing.
 */
import type { Browser } from 'playwright-core'
import { afterAll, beforeAll, expect, it } from 'vitest'
import type { AlarmView, HealthView, SpliceView, UnwindView } from '../../edge/api/messages.ts'
import { launchBrowser } from '../support/browser.ts'
import { type DashboardServer, startDashboard } from '../support/dashboard-server.ts'
import { grown, heapBytes, sumOf } from '../support/page-heap.ts'

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

/** Seconds of the day that pass at once, and what a message brings in each. */
const STEP_S = 60
const HOUR_S = 3600
/**
 * What a day may leave of the page's own objects, bytes: numbers that get boxed, and nothing else. One string kept for each of the
 * day's 1,440 updates would be more.
 */
const MOST_LEFT_BYTES = 12_000
const MOST_LEFT_NODES = 60

interface Day {
  /** Runs the page on from where it stands, s. */
  run: (seconds: number) => Promise<void>
}

it('leaves neither memory nor elements behind after 24 hours', async () => {
  const page = await (await browser.newContext({ viewport: { width: 1920, height: 1080 } })).newPage()
  const faults: string[] = []
  page.on('pageerror', (error) => faults.push(String(error)))
  const { daemon } = server
  const given = {
    views: daemon.unwinds(),
    health: daemon.health(),
    splice: daemon.splices({ limit: 1 })[0]!,
    alarm: daemon.unwinds().flatMap(({ alarms }) => alarms)[0]!,
    stepS: STEP_S,
  }
  await page.addInitScript(
    (day: { views: UnwindView[]; health: HealthView; splice: SpliceView; alarm: AlarmView; stepS: number }) => {
      let nowMs = 0
      const startTMs = Date.parse('2026-03-02T06:00:00Z')
      performance.now = () => nowMs
      const timers = new Map<number, { run: () => void; everyMs: number; atMs: number; isOnce: boolean }>()
      let ids = 1_000_000
      const add = (run: () => void, everyMs: number, isOnce: boolean) => {
        timers.set(++ids, { run, everyMs, atMs: nowMs + everyMs, isOnce })
        return ids
      }
      const really = window.setTimeout.bind(window)
      window.setInterval = ((run: () => void, everyMs = 0) => add(run, everyMs, false)) as typeof window.setInterval
      window.setTimeout = ((run: () => void, afterMs = 0) =>
        // The page's own waits are on the test's clock; what the drawing library defers is not.
        afterMs < 200 ? really(run, afterMs) : add(run, afterMs, true)) as typeof window.setTimeout
      window.clearInterval = (id) => void timers.delete(Number(id))
      window.clearTimeout = window.clearInterval
      const ask = window.fetch.bind(window)
      window.fetch = async (address, options) => {
        const answer = String(address).includes('health')
          ? day.health
          : String(address).includes('splices')
            ? []
            : undefined
        if (answer === undefined) return ask(address, options)
        return new Response(JSON.stringify(answer), { headers: { 'content-type': 'application/json' } })
      }
      class Stream extends EventTarget {
        static newest: Stream | undefined
        isOpen = true
        constructor() {
          super()
          Stream.newest = this
        }
        close() {
          this.isOpen = false
        }
        send(event: string, data: unknown) {
          if (this.isOpen) this.dispatchEvent(new MessageEvent(event, { data: JSON.stringify(data) }))
        }
      }
      window.EventSource = Stream as unknown as typeof EventSource
      /** Each unwind goes round in 20 minutes: counts down, splices, and now and then has trouble. */
      const viewsAt = (s: number): UnwindView[] =>
        day.views.map((view, index) => {
          const left = 1200 - ((s + index * 400) % 1200)
          const round = Math.floor((s + index * 400) / 1200)
          const isCycle = left > 1140
          const alarms =
            left < 300 && round % 3 === 0 ? [{ ...day.alarm, id: `${view.unwind}-${round}`, unwind: view.unwind }] : []
          return {
            ...view,
            time: new Date(startTMs + s * 1000).toISOString(),
            state: isCycle ? 'splicing' : 'running',
            stale: [],
            reason: null,
            reason_words: null,
            diameter: 130 + left / 4,
            seconds_to_splice: left,
            seconds_low: left * 0.98,
            seconds_high: left * 1.02,
            metres_to_splice: left * 5,
            buffer_stored: isCycle ? 4 : 7.5,
            new_roll_ready: left < 500,
            active_spindle: round % 2 === 0 ? 'A' : 'B',
            next_splices: [{ after: 1200, after_low: 1150, after_high: 1250 }],
            alarms,
          }
        })
      let s = 0
      let isOn = false
      const send = (event: string, data: unknown) => Stream.newest?.send(event, data)
      const run = async (seconds: number) => {
        const endS = s + seconds
        for (; s < endS; s += day.stepS) {
          nowMs = s * 1000
          const time = new Date(startTMs + s * 1000).toISOString()
          const unwinds = viewsAt(s)
          // The line to the monitor breaks once an hour, and is opened anew.
          if (s % 3600 === 0) {
            Stream.newest?.dispatchEvent(new Event('error'))
            isOn = false
          }
          if (isOn) send('changes', { time, unwinds: Object.fromEntries(unwinds.map((view) => [view.unwind, view])) })
          // More of them at first than the page keeps.
          if (s % (s < 6 * 3600 ? 60 : 600) === 0) send('splice', { ...day.splice, id: `splice-${s}`, started: time })
          for (const [id, timer] of [...timers]) {
            if (timer.atMs > nowMs) continue
            if (timer.isOnce) timers.delete(id)
            else timer.atMs = nowMs + timer.everyMs
            timer.run()
          }
          if (!isOn && Stream.newest?.isOpen === true) {
            send('hello', { build: null })
            send('health', day.health)
            send('unwinds', { time, unwinds })
            isOn = true
          }
          await new Promise((resolve) => {
            // What the drawing library defers to the next frame gets its turn.
            if (s % 300 === 0) really(resolve, 0)
            else queueMicrotask(() => resolve(undefined))
          })
        }
      }
      ;(globalThis as unknown as Day).run = run
    },
    given,
  )
  await page.goto(`${server.url}/`)
  await page.locator('main').waitFor()
  const run = (seconds: number) => page.evaluate((s) => (globalThis as unknown as Day).run(s), seconds)
  const cdp = await page.context().newCDPSession(page)
  const measure = async () => {
    const heap = await heapBytes(cdp)
    const { nodes, jsEventListeners } = await cdp.send('Memory.getDOMCounters')
    return { heap, nodes, jsEventListeners }
  }
  // Each state of a lane and each text was there.
  await run(6 * HOUR_S)
  await page.locator('.lane').first().waitFor()
  expect(await page.locator('.lane').count()).toBe(3)
  const before = await measure()
  await run(24 * HOUR_S)
  const after = await measure()
  expect(await page.locator('[data-part="time"]').count()).toBeGreaterThan(0)
  expect(sumOf(after.heap) - sumOf(before.heap), grown(before.heap, after.heap)).toBeLessThan(MOST_LEFT_BYTES)
  expect(after.nodes - before.nodes).toBeLessThan(MOST_LEFT_NODES)
  expect(after.jsEventListeners - before.jsEventListeners).toBeLessThan(10)
  expect(faults).toEqual([])
})
