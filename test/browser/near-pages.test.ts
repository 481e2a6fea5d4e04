/** The pages that are read from near, used as operator, shift leader and controls engineer would: one server for all of them. */
import type { Browser, Page } from 'playwright-core'
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest'
import { launchBrowser, type OpenPage, openPage, SCREENS } from '../support/browser.ts'
import { type DashboardServer, startDashboard } from '../support/dashboard-server.ts'

let browser: Browser
let server: DashboardServer
let opened: OpenPage | undefined
beforeAll(async () => {
  browser = await launchBrowser()
  server = await startDashboard({ labelPressAtS: 95 })
})
afterAll(async () => {
  await browser.close()
  await server.stop()
})
afterEach(async () => {
  await opened?.close()
  opened = undefined
})

const open = async (path: string, context: Parameters<typeof openPage>[2] = {}): Promise<Page> => {
  opened = await openPage(browser, `${server.url}/${path}`, { viewport: SCREENS.laptop, ...context })
  await opened.page.locator('h2').first().waitFor()
  return opened.page
}
/** 15 mm as CSS has it: 96 px to the inch. */
const GLOVE_PX = (15 / 25.4) * 96

describe('the unwind page', () => {
  it('answers first, and is left by its navigation to every other page', async () => {
    const page = await open('unwinds/label_press')
    expect(await page.locator('[data-part="time"]').textContent()).toMatch(/^\d+:\d\d|^\d+ min/)
    expect(await page.locator('main').textContent()).toContain('How long does this roll last, and is everything ready?')
    for (const [name, question] of [
      ['Alarms', 'What stands'],
      ['Signals', 'Is what it reads true?'],
      ['Handover', 'next crew'],
    ] as const) {
      await page.getByRole('navigation', { name: 'Pages' }).getByRole('link', { name, exact: true }).click()
      await page.getByText(question).first().waitFor()
    }
    const rolls = page.getByRole('navigation', { name: 'Pages' }).getByRole('link', { name: 'Finished rolls' })
    await rolls.click()
    await page.waitForURL(/finished-rolls/)
    expect(opened!.faults).toEqual([])
    // Without a rewinder there is nothing to lead to.
    const health = server.daemon.health.bind(server.daemon)
    server.daemon.health = () => ({ ...health(), finished_rolls: false })
    await page.reload()
    await page.locator('h1').waitFor()
    await rolls.waitFor({ state: 'detached' })
    server.daemon.health = health
  })

  it('says of figures that go on that they are new, however long it stays open', async () => {
    const page = await open('unwinds/label_press')
    const answer = page.locator('.answer')
    const seen = new Set<string>()
    for (let second = 0; second < 8; second++) {
      await page.waitForTimeout(1000)
      seen.add((await answer.locator('.answer-time').textContent()) ?? '')
      expect(await answer.locator('.age').textContent()).toMatch(/^[01] s ago$/)
    }
    expect(seen.size).toBeGreaterThan(5)
    // What is asked for every 5 s is never much older than that.
    for (const age of await page.locator('main .age').allTextContents()) expect(age).toMatch(/^[0-7] s ago$/)
    // Another unwind's age is its own.
    await page.getByRole('link', { name: 'Laminator, inner web' }).first().click()
    await page.getByRole('heading', { name: 'Laminator, inner web' }).waitFor()
    expect(await answer.locator('.age').textContent()).toMatch(/^[01] s ago$/)
  })

  it('has on a phone its navigation in one line that opens, leads on and closes', async () => {
    const page = await open('unwinds/label_press', { viewport: SCREENS.phone })
    const bar = page.locator('.bar')
    const heightOf = async (): Promise<number> => (await bar.boundingBox())!.height
    expect(await heightOf()).toBeLessThanOrEqual(60)
    await bar.getByText('Pages').click()
    expect(await heightOf()).toBeGreaterThan(100)
    await bar.getByRole('link', { name: 'Signals', exact: true }).click()
    await page.getByText('Is what it reads true?').waitFor()
    expect(await heightOf()).toBeLessThanOrEqual(60)
    expect(await bar.textContent()).toContain('Signals')
  })

  it('takes stages and ready by tap, on buttons for gloves, and says what is missing', async () => {
    const page = await open('unwinds/laminator_inner')
    const missing = page.locator('[data-part="missing"]')
    await page.getByRole('button', { name: /Roll fetched/ }).click()
    await missing.getByText('not loaded').waitFor()
    // A second tap takes nothing back by itself.
    await page.getByRole('button', { name: /Roll fetched/ }).click()
    await page.getByRole('alert').getByText('is ticked. Take it back').waitFor()
    await page.getByRole('button', { name: 'Leave it' }).click()
    await missing.getByText('not loaded').waitFor()
    await page.getByRole('button', { name: /Roll fetched/ }).click()
    await page.getByRole('button', { name: 'Take back', exact: true }).click()
    await missing.getByText('not fetched').waitFor()
    await page.getByRole('button', { name: /Splice prepared/ }).click()
    await page.getByRole('button', { name: /^Ready/ }).click()
    await missing.getByText('roll ready').waitFor()
    // "Ready" says that all stages are done: there it has to be taken back.
    await page.getByRole('button', { name: /Roll loaded/ }).click()
    await page.getByRole('alert').getByText('goes when that does').waitFor()
    await page.getByRole('alert').getByRole('button').click()
    expect(server.daemon.unwinds()[1]).toMatchObject({ new_roll_ready: true, preparation: { missing: null } })
    await page.getByText('Type it instead').click()
    const heights = await page
      .locator('.gloves button')
      .evaluateAll((buttons) => buttons.map((button) => button.getBoundingClientRect().height))
    expect(heights.length).toBeGreaterThan(5)
    expect(Math.min(...heights)).toBeGreaterThanOrEqual(GLOVE_PX - 0.5)
  })

  it('says at once that a scanned roll is the wrong one, and takes it back', async () => {
    const page = await open('unwinds/laminator_inner')
    await page.getByLabel('Label', { exact: true }).fill('(21)R-9(240)0815')
    // A scanner ends with Enter.
    await page.keyboard.press('Enter')
    await page.getByRole('alert').getByText('the job needs material 4711, this is 0815').waitFor()
    // Nothing that was done counts for this roll.
    const loaded = page.getByRole('button', { name: /Roll loaded/ })
    await loaded.getByText('not with this roll').waitFor()
    expect(await loaded.isDisabled()).toBe(true)
    expect(await page.locator('[data-part="waiting-roll"]').textContent()).toContain('R-9')
    await page.getByRole('button', { name: 'Take this back' }).click()
    await page.getByText('Scan its label').waitFor()
  })

  it('takes of a scan what its label says, whatever was left in the folded fields', async () => {
    const page = await open('unwinds/laminator_inner')
    await page.getByText('Type it instead').click()
    await page.getByLabel('Diameter, mm').fill('abc')
    await page.getByLabel('Length, m').fill('777')
    await page.getByText('Type it instead').click()
    await page.getByLabel('Label', { exact: true }).fill('(21)R-9(240)4711')
    await page.keyboard.press('Enter')
    const known = page.locator('[data-part="waiting-roll"] strong')
    await known.waitFor()
    expect(await known.textContent()).toBe('roll R-9 · material 4711')
    // An Enter on the empty field takes nothing back, and what is typed now adds to the label.
    await page.keyboard.press('Enter')
    await page.getByText('Type it instead').click()
    expect(await page.getByLabel('Length, m').inputValue()).toBe('')
    await page.getByRole('region', { name: 'Roll that waits' }).getByLabel('Width, mm').fill('1300')
    await page.keyboard.press('Enter')
    await page
      .locator('[data-part="waiting-roll"]')
      .getByText(/1.?300 mm/)
      .waitFor()
    expect(await known.textContent()).toContain('R-9 · material 4711')
    // A right roll is answered, too, but only once all that the job asks for was compared.
    expect(await page.locator('[data-part="fits"]').count()).toBe(0)
    await page.getByRole('region', { name: 'Roll that waits' }).getByLabel('Wound').selectOption('out')
    await page.getByRole('region', { name: 'Roll that waits' }).getByLabel('Width, mm').press('Enter')
    await page.getByText('Fits the job: material, width, side').waitFor()
    await page.getByRole('button', { name: 'Take this back' }).click()
    await page.getByText('Scan its label').waitFor()
  })

  it('says in its own words what a field takes', async () => {
    const page = await open('unwinds/laminator_inner')
    const field = page.getByLabel('Still to run, m')
    const said = () => field.evaluate((input: HTMLInputElement) => input.validationMessage)
    await field.fill('-5')
    await page.locator('[aria-labelledby="job"]').getByRole('button', { name: 'Enter' }).click()
    expect(await said()).toBe('Enter a number above 0 in figures, such as 12.5, without its unit.')
    await field.fill('900')
    expect(await said()).toBe('')
    await page.locator('[aria-labelledby="job"]').getByRole('button', { name: 'Enter' }).click()
    await page.getByText('m still to run.').waitFor()
  })

  it('asks back where a scan is no label, and is ready for the next scan', async () => {
    const page = await open('unwinds/laminator_inner')
    const scan = page.getByLabel('Label', { exact: true })
    await scan.fill('hello')
    await page.keyboard.press('Enter')
    await page.getByRole('alert').getByText('No roll label: take "hello" as the roll\'s number?').waitFor()
    expect(await scan.inputValue()).toBe('')
    await page.getByText('Scan its label').waitFor()
    await page.getByRole('button', { name: 'Take as roll number' }).click()
    await page.locator('[data-part="waiting-roll"]').getByText('hello').waitFor()
    await page.locator('main').getByText('Material not on this label: not checked. The job needs 4711.').waitFor()
    await page.locator('.answer [data-part="unchecked"]').getByText('next roll not checked').waitFor()
    await page.getByRole('button', { name: 'Take this back' }).click()
    await page.getByText('Scan its label').waitFor()
  })

  it('reckons at another speed and changes nothing', async () => {
    const page = await open('unwinds/label_press')
    const commands = server.daemon.commands.length
    await page.getByRole('slider').fill('150')
    await page.locator('[data-part="what-if"][data-speed="150"]').waitFor()
    expect(server.daemon.commands).toHaveLength(commands)
  })

  it('writes on its charts as large as on its page, on a screen of 4K too', async () => {
    const fonts = async (viewport: { width: number; height: number }): Promise<string[]> => {
      const page = await open('unwinds/label_press', { viewport })
      await page.addInitScript(() => {
        const seen = new Set<string>()
        Object.assign(window, { fontsDrawn: seen })
        const { fillText } = CanvasRenderingContext2D.prototype
        CanvasRenderingContext2D.prototype.fillText = function (...what) {
          seen.add(this.font)
          fillText.apply(this, what)
        }
      })
      await page.reload()
      await page.locator('.past-chart canvas').waitFor()
      const drawn = await page.evaluate(() => [
        ...(window as unknown as { fontsDrawn: Set<string> }).fontsDrawn,
        getComputedStyle(document.documentElement).fontSize,
      ])
      await opened?.close()
      return drawn
    }
    const px = (of: string[]): number[] => of.map((font) => Number.parseFloat(/[\d.]+(?=px)/.exec(font)![0]))
    const [usual, large] = [px(await fonts(SCREENS.laptop)), px(await fonts({ width: 3840, height: 2160 }))]
    expect(usual.length).toBeGreaterThan(1)
    // The last is the page's own.
    const grown = large.at(-1)! / 16
    expect(grown).toBeGreaterThan(1.2)
    expect(large[0]! / usual[0]!).toBeCloseTo(grown, 1)
  })

  it('draws what was forecast and what came, and stops reading when told to', async () => {
    const page = await open('unwinds/label_press')
    await page.locator('.past-chart canvas').waitFor()
    await page.getByRole('button', { name: '1 h', exact: true }).click()
    await page.locator('.past-chart canvas').waitFor()
    await page.route('**/history?*', () => undefined)
    await page.getByRole('button', { name: '3 d', exact: true }).click()
    await page.getByRole('button', { name: 'Cancel' }).click()
    await page.locator('progress').waitFor({ state: 'detached' })
  })
})

describe('the alarms page', () => {
  it('lets two people acknowledge at once: the first counts, and both comments are kept', async () => {
    const alarm = server.daemon.raise('roll_out_of_round', 'label_press', 'medium', 'The roll is out of round.')
    const page = await open('alarms')
    const card = page.locator('[data-alarm="roll_out_of_round"]')
    await card.waitFor()
    const other = await openPage(browser, `${server.url}/alarms`, { viewport: SCREENS.laptop })
    const theirs = other.page.locator('[data-alarm="roll_out_of_round"]')
    await theirs.waitFor()
    await page.getByLabel('Entered as').fill('Mika')
    await other.page.getByLabel('Entered as').fill('Kim')
    await card.getByLabel('Comment').fill('chuck checked')
    await theirs.getByLabel('Comment').fill('tension low')
    await Promise.all([
      card.getByRole('button', { name: 'Acknowledge' }).click(),
      theirs.getByRole('button', { name: 'Acknowledge' }).click(),
    ])
    await card.locator('[data-part="acknowledged"]').waitFor()
    await theirs.locator('[data-part="acknowledged"]').waitFor()
    await other.close()
    const kept = server.daemon.alarms({ limit: 100 }).find(({ id }) => id === alarm.id)!
    expect(['Mika', 'Kim']).toContain(kept.acknowledged_by)
    expect(kept.comment).toContain('chuck checked')
    expect(kept.comment).toContain('tension low')
  })

  it('keeps each card where it is under the hand: a tap too many takes no other alarm', async () => {
    const { daemon } = server
    const [missed, broke] = (['splice_missed', 'web_break'] as const).map((id) => {
      const alarm = daemon.raise(id, 'label_press', 'high', 'It went wrong. Stop the line.')
      alarm.state = 'returned_unacknowledged'
      alarm.cleared = alarm.raised
      return alarm
    })
    const page = await open('alarms')
    const cards = page.locator('.standing-alarm')
    await cards.nth(1).waitFor()
    // The gravest first: both stand above what is medium or low.
    const tones = await cards.evaluateAll((all) => all.map((card) => card.getAttribute('data-tone')))
    expect(tones).toEqual(
      [...tones].sort((a, b) => ['high', 'medium', 'low'].indexOf(a!) - ['high', 'medium', 'low'].indexOf(b!)),
    )
    const card = page.locator('[data-alarm="splice_missed"]')
    await card.getByText('Say on the splice').waitFor()
    await page.locator('[data-alarm="web_break"]').getByText('Look for what broke the web').waitFor()
    const button = card.getByRole('button', { name: 'Acknowledge' })
    await button.scrollIntoViewIfNeeded()
    const box = (await button.boundingBox())!
    await page.mouse.click(box.x + 20, box.y + 20)
    await page.mouse.click(box.x + 20, box.y + 20)
    await card.locator('[data-part="gone"]').waitFor()
    // Another reading of the list, and a tap at the same place once more.
    await page.waitForTimeout(3000)
    await page.mouse.click(box.x + 20, box.y + 20)
    expect(Math.abs((await button.boundingBox())!.y - box.y)).toBeLessThan(60)
    expect(daemon.alarms({ limit: 100 }).find(({ id }) => id === missed!.id)?.state).toBe('normal')
    expect(daemon.alarms({ limit: 100 }).find(({ id }) => id === broke!.id)?.state).toBe('returned_unacknowledged')
    // The hand has left the list.
    await card.waitFor({ state: 'detached' })
    await page.locator('[data-alarm="web_break"]').getByRole('button', { name: 'Acknowledge' }).click()
    await expect.poll(() => daemon.alarms({ limit: 100 }).find(({ id }) => id === broke!.id)?.state).toBe('normal')
  })

  it('puts an alarm aside and lets it stand again', async () => {
    const page = await open('alarms')
    const card = page.locator('.standing [data-alarm="source_lost"]')
    await card.getByLabel('Put aside').selectOption({ label: '1 h' })
    await card.waitFor({ state: 'detached' })
    const aside = page.locator('.aside [data-alarm="source_lost"]')
    expect(await aside.textContent()).toMatch(/put aside by .+ until \d\d:\d\d/)
    await aside.getByRole('button', { name: 'Let it stand again' }).click()
    await card.waitFor()
  })
})

describe('the signals page', () => {
  it('has sources, what the tags say of each other, and what needs a look first', async () => {
    const page = await open('signals')
    await page.locator('[data-source="hall_broker"]').getByText('lost').waitFor()
    const rows = page.locator('.tags tbody tr')
    const suspect = await rows.evaluateAll((all) => all.map((row) => row.getAttribute('data-suspect')))
    expect(suspect.indexOf('false')).toBe(suspect.lastIndexOf('true') + 1)
    await page.getByLabel(/need a look/).check()
    expect(await rows.count()).toBe(suspect.filter((one) => one === 'true').length)
    expect(await page.locator('[aria-labelledby="consistency"] li h3').count()).toBe(3)
    await page.locator('.findings').getByText('the server itself states m/min, the config ft/min').waitFor()
  })

  it('shows what each tag itself says, in its own unit, with the bit of a word', async () => {
    const page = await open('signals')
    const said = (address: string) => page.locator('.tags tbody tr', { hasText: address }).locator('.raw')
    expect(await said('Festoon.Position').textContent()).toBe(' tag: 25 %')
    expect(await said('Web.Tension').textContent()).toBe(' tag: 5861, by scale and offset 212 N')
    expect(await said('Unwind.Status').allTextContents()).toEqual([
      ' tag: bit 5 of word 9',
      ' tag: bit 2 of word 9 (inverted)',
    ])
  })
})

describe('the handover', () => {
  it('tells what nobody sees at the machine: counts, joints that nobody confirmed, alarms that are not told', async () => {
    const { daemon } = server
    const joints = daemon.joints.bind(daemon)
    daemon.joints = (filter) =>
      joints(filter).map((joint, index) => ({
        ...joint,
        stations: joint.stations.map((station) =>
          index === 0 && station.takes_out ? { ...station, state: 'unconfirmed' as const, out: null } : station,
        ),
      }))
    const suppressed = daemon.raise('roll_not_ready', 'sack_line', 'medium', 'The next roll is not ready.')
    suppressed.suppressed = true
    const aside = daemon.alarmsAside.bind(daemon)
    daemon.alarmsAside = () => [suppressed, ...aside()]
    try {
      const page = await open('handover')
      const part = (id: string) => page.locator(`[aria-labelledby="${id}"]`)
      expect(await part('open-joints').getByRole('link').allTextContents()).toEqual([
        expect.stringMatching(/^Label press, Die cutter, \d\d:\d\d CES?T$/),
      ])
      expect(await part('services').textContent()).toMatch(
        /Label press:\s+Knife changed, splices since: \d+ \(due after \d+\);\s+Tape changed, splices since: \d+/,
      )
      expect(await part('handover-alarms').textContent()).toContain(
        'means nothing while the line stands, threads or jogs',
      )
      // The next three by their time, the rest as a count.
      for (const cell of await page
        .locator('[aria-labelledby="next-hour"] tbody tr td:nth-of-type(1)')
        .allTextContents())
        expect(cell.match(/\d\d:\d\d/g)?.length ?? 0, cell).toBeLessThanOrEqual(4)
      const before = daemon.handover.view().taken_over
      await page.getByLabel('Taken over by').fill('Robin')
      await page.getByLabel('Remark').fill('side B looked at')
      await page.getByRole('button', { name: 'Take over' }).click()
      await page.locator('[data-part="taken-over"]').getByText('Robin').waitFor()
      const after = daemon.handover.view().taken_over
      expect(after).toMatchObject({ person: 'Robin', note: 'side B looked at' })
      expect(after?.id).not.toBe(before?.id)
    } finally {
      daemon.joints = joints
      daemon.alarmsAside = aside
      daemon.endAlarm(suppressed)
    }
  })

  it('takes a note, keeps who took over, and fits one sheet of paper', async () => {
    const page = await open('handover')
    await page.getByRole('textbox', { name: 'Note' }).fill('Core chuck of side B squeaks')
    await page.getByRole('button', { name: 'Leave the note' }).click()
    await page.locator('.note').getByText('Core chuck of side B squeaks').waitFor()
    await page.getByLabel('Taken over by').fill('Kim')
    await page.getByRole('button', { name: 'Take over' }).click()
    await page.locator('[data-part="taken-over"]').getByText('Kim').waitFor()
    for (const format of ['A4', 'Letter'] as const) {
      const pages = (await page.pdf({ format })).toString('latin1').split('/Type /Page\n').length - 1
      expect(pages, format).toBe(1)
    }
    await page.emulateMedia({ media: 'print' })
    expect(await page.locator('.caution-print').isVisible()).toBe(true)
    await page.emulateMedia({ media: 'screen' })
    await page.locator('.note').getByRole('button', { name: 'Done' }).click()
    await page.locator('.note').waitFor({ state: 'detached' })
  })
})

describe('every page', () => {
  it('looks dead when the connection is, takes nothing then, and comes back by itself', async () => {
    const page = await open('unwinds/laminator_inner')
    const stage = page.getByRole('button', { name: /Roll loaded/ })
    expect(await stage.isEnabled()).toBe(true)
    await server.stop()
    await page.locator('.unwind.is-dead').waitFor()
    expect(await stage.isDisabled()).toBe(true)
    expect(await page.locator('[data-part="verb"]').textContent()).toBe('No data: look')
    await server.restart()
    await page.locator('.unwind:not(.is-dead)').waitFor()
    await stage.click({ trial: true })
  })
})
