/**
 * A headless Chromium for tests and screenshots. It comes with the dev dependencies and needs nothing installed;
 * `LASTWRAP_CHROMIUM` names another one, and the machine's own is the last resort.
 */
import { existsSync } from 'node:fs'
import sparticuz from '@sparticuz/chromium'
import { type Browser, type BrowserContextOptions, chromium, type Page } from 'playwright-core'

const OWN = ['/usr/bin/chromium', '/usr/bin/chromium-browser', '/usr/bin/google-chrome']

/**
 * One process for everything makes a page's crash the browser's. A graphics card that is emulated on the processor takes ten
 * times what drawing without one does, and no page of ours asks for it.
 */
const LEFT_OUT = [
  '--single-process',
  '--in-process-gpu',
  '--use-gl',
  '--use-angle',
  '--ignore-gpu-blocklist',
  '--enable-unsafe-swiftshader',
]

const candidates = async (): Promise<{ path: string; args: string[] }[]> => {
  const named = process.env['LASTWRAP_CHROMIUM']
  if (named !== undefined) return [{ path: named, args: ['--no-sandbox'] }]
  const found: { path: string; args: string[] }[] = []
  try {
    const args = sparticuz.args.filter((arg) => !LEFT_OUT.some((name) => arg.startsWith(name)))
    found.push({ path: await sparticuz.executablePath(), args: [...args, '--disable-gpu'] })
  } catch (error) {
    console.warn(`The Chromium of the dev dependencies could not be unpacked: ${String(error)}`)
  }
  for (const path of OWN) if (existsSync(path)) found.push({ path, args: ['--no-sandbox'] })
  return found
}

export const launchBrowser = async (): Promise<Browser> => {
  const reasons: string[] = []
  for (const { path, args } of await candidates()) {
    try {
      return await chromium.launch({ executablePath: path, args, headless: true })
    } catch (error) {
      reasons.push(`${path}: ${String(error).split('\n')[0]}`)
    }
  }
  throw new Error(`No Chromium could be started (set LASTWRAP_CHROMIUM to one): ${reasons.join('; ') || 'none found'}`)
}

export const SCREENS = {
  wall: { width: 1920, height: 1080 },
  laptop: { width: 1366, height: 768 },
  phone: { width: 390, height: 844 },
} as const

export interface OpenPage {
  page: Page
  /** Console errors, exceptions and violations of the content-security policy, as they came. */
  faults: string[]
  /** Every address that was asked for. */
  requests: string[]
  close(): Promise<void>
}

/** What a browser says when its peer is gone: tests that cut the connection on purpose leave these out. */
export const isNetworkFault = (fault: string): boolean => /net::ERR_|Failed to load resource/.test(fault)

export const openPage = async (
  browser: Browser,
  url: string,
  options: BrowserContextOptions = {},
): Promise<OpenPage> => {
  const context = await browser.newContext({ viewport: SCREENS.wall, colorScheme: 'light', ...options })
  const page = await context.newPage()
  const faults: string[] = []
  const requests: string[] = []
  page.on('console', (message) => {
    if (message.type() === 'error' || /Content Security Policy/i.test(message.text())) faults.push(message.text())
  })
  page.on('pageerror', (error) => faults.push(String(error)))
  page.on('request', (request) => requests.push(request.url()))
  await page.goto(url)
  return { page, faults, requests, close: () => context.close() }
}
