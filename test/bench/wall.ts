/**
 * What the wall costs: `npm run bench:wall`. Twelve unwinds, every figure of which moves at each look, on one page in a headless
 * Chromium: share of one core over a minute (all of the browser's processes, from /proc, so on Linux), bytes a second, and how
 * long after navigation with an empty cache the first countdown stands there. The limits stand beside each.
 */
import { execFileSync } from 'node:child_process'
import { readdirSync, readFileSync } from 'node:fs'
import { launchBrowser, SCREENS } from '../support/browser.ts'
import buildDashboard from '../support/build-dashboard.ts'
import { startDashboard } from '../support/dashboard-server.ts'
import { noisyLanes } from '../support/noisy-lanes.ts'

const LANES = 12
const FOR_S = Number(process.argv[2] ?? 60)
const NAVIGATIONS = 5

const ticksPerSecond = Number(execFileSync('getconf', ['CLK_TCK'], { encoding: 'utf8' }))

/** Processor seconds that every process below this one has used; the name in the second field may hold blanks. */
const browserSeconds = (): number => {
  const all = new Map<number, { parent: number; ticks: number }>()
  for (const name of readdirSync('/proc').filter((entry) => /^\d+$/.test(entry))) {
    try {
      const fields = readFileSync(`/proc/${name}/stat`, 'utf8')
        .replace(/^.*\) /, '')
        .split(' ')
      all.set(Number(name), { parent: Number(fields[1]), ticks: Number(fields[11]) + Number(fields[12]) })
    } catch {}
  }
  const isOurs = (pid: number): boolean => {
    const parent = all.get(pid)?.parent
    return parent === process.pid || (parent !== undefined && parent > 1 && isOurs(parent))
  }
  return [...all].reduce((sum, [pid, { ticks }]) => (isOurs(pid) ? sum + ticks : sum), 0) / ticksPerSecond
}

await buildDashboard()
const server = await startDashboard({ change: noisyLanes(LANES), wall: { screen_diagonal: 1.0922, distance: 3 } })
const browser = await launchBrowser()
try {
  const firstMs: number[] = []
  for (let i = 0; i < NAVIGATIONS; i++) {
    // A context of its own has an empty cache.
    const context = await browser.newContext({ viewport: SCREENS.wall })
    const page = await context.newPage()
    await page.addInitScript(() => {
      const seen = new MutationObserver(() => {
        if (document.querySelector('[data-part="time"]') === null) return
        ;(globalThis as unknown as { firstMs: number }).firstMs = performance.now()
        seen.disconnect()
      })
      seen.observe(document, { subtree: true, childList: true })
    })
    await page.goto(`${server.url}/`)
    await page.locator('[data-part="time"]').first().waitFor()
    firstMs.push(await page.evaluate(() => (globalThis as unknown as { firstMs: number }).firstMs))
    await context.close()
  }
  const page = await (await browser.newContext({ viewport: SCREENS.wall })).newPage()
  const cdp = await page.context().newCDPSession(page)
  let bytes = 0
  cdp.on('Network.dataReceived', ({ dataLength }) => {
    bytes += dataLength
  })
  await cdp.send('Network.enable')
  await page.goto(`${server.url}/`)
  await page.locator('[data-part="time"]').first().waitFor()
  await page.waitForTimeout(3000)
  bytes = 0
  const [fromS, fromMs] = [browserSeconds(), performance.now()]
  await page.waitForTimeout(FOR_S * 1000)
  const tookS = (performance.now() - fromMs) / 1000
  const share = (browserSeconds() - fromS) / tookS
  const elements = await page.locator('main *').count()
  console.log(`first countdown after navigation: ${firstMs.map((ms) => ms.toFixed(0)).join(', ')} ms (limit 1000)`)
  console.log(
    `share of one core, ${LANES} unwinds over ${tookS.toFixed(0)} s: ${(100 * share).toFixed(1)} % (limit 15)`,
  )
  console.log(`bytes: ${(bytes / tookS / 1000).toFixed(1)} kB/s (limit 10)`)
  console.log(`elements: ${elements}`)
} finally {
  await browser.close()
  await server.stop()
}
