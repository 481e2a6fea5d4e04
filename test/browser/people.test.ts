/** Signing in as each of the people would: the engineer who starts it, an operator with a first password, somebody who guesses. */
import type { Browser, Page } from 'playwright-core'
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest'
import { violations } from '../support/axe.ts'
import { isNetworkFault, launchBrowser, type OpenPage, openPage } from '../support/browser.ts'
import { type DashboardServer, startDashboard } from '../support/dashboard-server.ts'
import { type PathProxy, startPathProxy } from '../support/path-proxy.ts'

const MINUTE_MS = 60_000
const PASSWORD = 'alder quay splices 9'
let browser: Browser
let server: DashboardServer | undefined
let proxy: PathProxy | undefined
let opened: OpenPage[] = []
beforeAll(async () => {
  browser = await launchBrowser()
})
afterAll(() => browser.close())
afterEach(async () => {
  for (const one of opened) await one.close()
  await proxy?.close()
  await server?.stop()
  opened = []
  proxy = undefined
  server = undefined
})

const open = async (url: string): Promise<Page> => {
  const one = await openPage(browser, url)
  opened.push(one)
  return one.page
}
const faults = (): string[] => opened.flatMap((one) => one.faults).filter((fault) => !isNetworkFault(fault))
const acknowledge = (page: Page) => page.getByRole('button', { name: /^Acknowledge .* on Sack line$/ })
const enter = async (page: Page, person: string, password: string): Promise<void> => {
  await page.getByLabel('Your name').fill(person)
  await page.getByLabel('Password', { exact: true }).fill(password)
  await page.getByRole('button', { name: 'Sign in', exact: true }).click()
}

describe('people', () => {
  it('come in one after the other: the set-up link, a first password, a password of one’s own, the command that waited', async () => {
    server = await startDashboard({ users: {} })
    const engineer = await open(server.setUpUrl())
    await engineer.getByLabel('Your name').fill('Ada Byron')
    await engineer.getByLabel('New password', { exact: true }).fill(PASSWORD)
    await engineer.getByLabel('The new password again').fill(PASSWORD)
    expect(await violations(engineer)).toEqual([])
    await engineer.getByRole('button', { name: 'Make the account' }).click()
    await engineer.getByRole('button', { name: 'Add a person' }).click()
    expect(engineer.url(), 'the token has left the address').not.toContain('#')
    await engineer.getByRole('textbox', { name: 'Name' }).fill('Crew B')
    await engineer.getByLabel('First password').fill('brass kettle')
    expect(await violations(engineer)).toEqual([])
    await engineer.getByRole('button', { name: 'Add', exact: true }).click()
    await engineer.locator('[data-person="Crew B"]').getByText('has not chosen a password yet').waitFor()

    const operator = await open(`${server.url}/`)
    await acknowledge(operator).click()
    await enter(operator, 'Crew B', 'brass kettle')
    await operator.getByLabel('New password', { exact: true }).fill('tin whistle 9')
    await operator.getByLabel('The new password again').fill('tin whistle 9')
    await operator.getByRole('button', { name: 'Keep this password' }).click()
    await operator.locator('[data-unwind="sack_line"] [data-part="acknowledged"]').waitFor()
    expect(server.daemon.commands).toMatchObject([{ kind: 'acknowledge', person: 'Crew B' }])
    // An engineer's pages are no place to be led to.
    await operator.getByText('Pages', { exact: true }).click()
    await operator.getByRole('link', { name: 'Crew B' }).waitFor()
    expect(await operator.getByRole('link', { name: 'People' }).count()).toBe(0)
    await operator.goto(`${server.url}/audit`)
    await operator.getByText('This needs the role engineer, and you have the role operator.').waitFor()

    await engineer.getByRole('link', { name: 'Audit' }).click()
    const row = engineer.locator('.audit-table tr').filter({ hasText: 'acknowledges' })
    expect(await row.first().textContent()).toMatch(
      /\d\d:\d\d:\d\dCrew BacknowledgesSack line: Source lost, raised [-\d]+ \d\d:\d\d CES?Tdone/,
    )
    expect(await violations(engineer)).toEqual([])
    expect(faults()).toEqual([])
  })

  it('who have a first password choose their own wherever they come in, and go on where they were', async () => {
    const user = { role: 'operator', password: 'brass kettle', mustChange: true } as const
    server = await startDashboard({ users: { 'Crew B': user, 'Crew C': user } })
    const choose = async (page: Page): Promise<void> => {
      await page.getByRole('heading', { name: 'Choose a password' }).waitFor()
      await page.getByLabel('New password', { exact: true }).fill('tin whistle 9')
      await page.getByLabel('The new password again').fill('tin whistle 9')
      await page.getByRole('button', { name: 'Keep this password' }).click()
    }
    // GIVEN the link on a page: it leads back to that page, by way of the password
    const page = await open(`${server.url}/unwinds/laminator_inner`)
    await page.getByRole('link', { name: 'Sign in' }).click()
    await enter(page, 'Crew B', 'brass kettle')
    await choose(page)
    await page.getByRole('heading', { name: 'Laminator, inner web' }).waitFor()
    expect(page.url()).toBe(`${server.url}/unwinds/laminator_inner`)
    // GIVEN somebody who left at that step: the next command asks for it, and is then done
    const other = await open(`${server.url}/account`)
    await enter(other, 'Crew C', 'brass kettle')
    await other.getByRole('heading', { name: 'Choose a password' }).waitFor()
    await other.goto(`${server.url}/unwinds/laminator_inner`)
    await other.getByRole('button', { name: /Roll fetched/ }).click()
    await other.getByRole('dialog').getByLabel('Present password').fill('brass kettle')
    expect(await violations(other)).toEqual([])
    await choose(other)
    await expect.poll(() => server!.daemon.commands).toMatchObject([{ kind: 'stage', person: 'Crew C', done: true }])
    expect(faults()).toEqual([])
  })

  it('who guess ten times are told for how long the name is locked, and the one who owns it goes on where he was', async () => {
    server = await startDashboard({ users: { 'Crew A': { role: 'operator', password: PASSWORD } } })
    const own = await open(`${server.url}/account`)
    await enter(own, 'Crew A', PASSWORD)
    await own.getByRole('button', { name: 'Sign out', exact: true }).click()
    const stranger = await open(`${server.url}/account`)
    for (let attempt = 0; attempt < 10; attempt++) {
      const answered = stranger.waitForResponse(/sign-in/)
      await enter(stranger, 'Crew A', `guess number ${attempt}`)
      await answered
    }
    const sentence = 'Locked after ten wrong passwords: try again in 15 min, or ask an engineer to unlock it.'
    await stranger.getByRole('alert').getByText(sentence).waitFor()
    await enter(stranger, 'Crew A', PASSWORD)
    await stranger.getByRole('alert').getByText(sentence).waitFor()
    await enter(own, 'Crew A', PASSWORD)
    await own.getByText('Operator. You may act here').waitFor()
    expect(faults()).toEqual([])
  })

  it('who leave the screen may only look on after the idle time; a touch before it keeps the right to act', async () => {
    server = await startDashboard({ users: { 'Crew A': { role: 'operator', password: PASSWORD } } })
    const page = await open('about:blank')
    await page.clock.install()
    const pass = async (minutes: number): Promise<void> => {
      server!.advance(minutes * MINUTE_MS)
      await page.clock.fastForward(minutes * MINUTE_MS)
    }
    await page.goto(`${server.url}/account`)
    await enter(page, 'Crew A', PASSWORD)
    const acts = page.getByText('Operator. You may act here')
    const looks = page.getByText('This screen only looks on until you sign in again.')
    await acts.waitFor()
    await pass(10)
    const told = page.waitForResponse(/session\/here/)
    await page.keyboard.press('Shift')
    await told
    await pass(10)
    await acts.waitFor()
    expect(await looks.count(), 'ten minutes after a touch').toBe(0)
    await pass(6)
    // The page may have asked in between, and then asks again when that answer's time is over.
    await expect
      .poll(async () => {
        await pass(1)
        return looks.count()
      })
      .toBe(1)
    // What is shown goes on, and the next command asks for the password and is then done.
    await page.getByRole('link', { name: 'Wall' }).click()
    await page.locator('[data-unwind="label_press"] [data-part="time"]').waitFor()
    await acknowledge(page).click()
    await page.getByRole('dialog').getByLabel('Password', { exact: true }).fill(PASSWORD)
    await page.getByRole('dialog').getByRole('button', { name: 'Sign in', exact: true }).click()
    await page.locator('[data-unwind="sack_line"] [data-part="acknowledged"]').waitFor()
    expect(server.daemon.commands).toMatchObject([{ kind: 'acknowledge', person: 'Crew A' }])
    expect(faults()).toEqual([])
  })

  it('see nothing before they sign in where the site says so, and everything at once after it', async () => {
    server = await startDashboard({
      users: { Wall: { role: 'viewer', password: PASSWORD } },
      web: { withoutSignIn: 'nothing' },
    })
    const page = await open(`${server.url}/`)
    await enter(page, 'Wall', PASSWORD)
    await page.locator('[data-unwind="label_press"] [data-part="time"]').waitFor()
    expect(faults()).toEqual([])
  })
})

describe('below a path of a reverse proxy', () => {
  it('pages, live stream, sign-in and commands work', async () => {
    server = await startDashboard({
      users: { 'Crew A': { role: 'operator', password: PASSWORD } },
      web: { basePath: '/plant/lastwrap', trustedProxies: ['127.0.0.1'] },
    })
    proxy = await startPathProxy(server.url, '/plant/lastwrap')
    const page = await open(proxy.url)
    const time = page.locator('[data-unwind="label_press"] [data-part="time"]')
    const before = await time.textContent()
    await page.waitForFunction(
      (text) => document.querySelector('[data-unwind="label_press"] [data-part="time"]')?.textContent !== text,
      before,
    )
    await acknowledge(page).click()
    await enter(page, 'Crew A', PASSWORD)
    await page.locator('[data-unwind="sack_line"] [data-part="acknowledged"]').waitFor()
    await page.getByText('Pages', { exact: true }).click()
    await page.getByRole('link', { name: 'Splices' }).click()
    await page.locator('tbody a').first().click()
    await page.locator('.trace canvas').first().waitFor()
    await page.reload()
    await page.locator('.trace canvas').first().waitFor()
    expect(page.url().startsWith(`${proxy.url}splices/`)).toBe(true)
    const cookies = (await page.context().cookies()).map(({ name, path, httpOnly, sameSite }) => [
      name,
      path,
      httpOnly,
      sameSite,
    ])
    expect(cookies.sort()).toEqual([
      ['lastwrap_browser', '/plant/lastwrap/', true, 'Strict'],
      ['lastwrap_session', '/plant/lastwrap/', true, 'Strict'],
    ])
    expect(proxy.strays).toEqual([])
    expect(faults()).toEqual([])
  })
})
