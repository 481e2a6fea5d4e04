/** For tests that each need a server of their own: what is returned starts one and opens a page on it; both end with the test. */
import type { Browser } from 'playwright-core'
import { afterAll, afterEach, beforeAll } from 'vitest'
import { launchBrowser, type OpenPage, openPage } from './browser.ts'
import { type DashboardOptions, type DashboardServer, startDashboard } from './dashboard-server.ts'

export type Opened = OpenPage & { server: DashboardServer }

export function freshServers(): (
  path: string,
  options?: DashboardOptions,
  context?: Parameters<typeof openPage>[2],
) => Promise<Opened> {
  let browser: Browser
  let newest: Opened | undefined
  const end = async (): Promise<void> => {
    const ending = newest
    newest = undefined
    await ending?.close()
    await ending?.server.stop()
  }
  beforeAll(async () => {
    browser = await launchBrowser()
  })
  afterAll(() => browser.close())
  afterEach(end)
  return async (path, options = {}, context = {}) => {
    await end()
    const server = await startDashboard(options)
    try {
      newest = { ...(await openPage(browser, `${server.url}/${path}`, context)), server }
    } catch (thrown) {
      await server.stop()
      throw thrown
    }
    return newest
  }
}
