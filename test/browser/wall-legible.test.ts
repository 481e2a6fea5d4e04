/** What is read from afar on the wall is high enough, is not cut, and stands out from its ground: measured on the rendered page. */
import type { Page } from 'playwright-core'
import { describe, expect, it } from 'vitest'
import type { AlarmView } from '../../edge/api/messages.ts'
import { alarmView } from '../support/alarm-view.ts'
import type { openPage } from '../support/browser.ts'
import { calmLanes } from '../support/calm-lanes.ts'
import type { DashboardOptions } from '../support/dashboard-server.ts'
import { freshServers } from '../support/fresh-servers.ts'

const alarm = (id: AlarmView['alarm'], short: string, raised: string, cleared: string | null = null): AlarmView =>
  alarmView({
    ...{ id, alarm: id, raised, cleared, text: short, short },
    state: cleared === null ? 'unacknowledged' : 'returned_unacknowledged',
  })

const start = freshServers()

const open = async (options: DashboardOptions, context: Parameters<typeof openPage>[2] = {}): Promise<Page> => {
  const { page } = await start('', options, context)
  await page.locator('[data-part="name"]').first().waitFor()
  return page
}

/** Relative luminance and contrast of `rgb(…)` colours: WCAG 2.2, definitions. */
const luminance = (colour: string): number => {
  const [r = 0, g = 0, b = 0] = (colour.match(/\d+/g) ?? []).map((part) => {
    const share = Number(part) / 255
    return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4
  })
  return 0.2126 * r + 0.7152 * g + 0.0722 * b
}
const contrast = (a: string, b: string): number => {
  const [light = 0, dark = 0] = [luminance(a), luminance(b)].sort((x, y) => y - x)
  return (light + 0.05) / (dark + 0.05)
}

describe('from where people stand', () => {
  /** Height of capitals as drawn, and whether the line was cut. */
  const measure = (page: Page, part: string, unwind: string) =>
    page.locator(`[data-unwind^="${unwind}"] [data-part="${part}"]`).evaluateAll((elements) =>
      elements.map((element) => {
        // A row's words are narrowed together, those that stand alone each for itself.
        const text = element.classList.contains('fit') ? element.querySelector('span')! : (element as HTMLElement)
        const style = getComputedStyle(text)
        const context = document.createElement('canvas').getContext('2d')!
        context.font = `${style.fontWeight} 100px ${style.fontFamily}`
        const capShare = context.measureText('H').actualBoundingBoxAscent / 100
        const [box, frame] = [text.getBoundingClientRect(), element.closest('.row, .fit')!.getBoundingClientRect()]
        return {
          text: text.textContent,
          capPx: Number.parseFloat(style.fontSize) * capShare,
          cutPx: Math.max(0, box.right - frame.right, frame.left - box.left),
          narrowed: box.width / text.offsetWidth,
          inView: frame.top >= 0 && frame.bottom <= innerHeight && frame.right <= innerWidth,
        }
      }),
    )
  // H = 2·D·tan(α/2): 46.5 mm for 20 arcmin and 37.2 mm for 16 at 8 m, on a 43-inch 16:9 screen that is 535.5 mm high.
  const MUST_PX = (46.5 / 535.5) * 1080
  const LEAST_PX = (37.2 / 535.5) * 1080

  /** Every text of a lane that is read from afar, at its least height; nothing cut, nothing out of sight. */
  const expectLegible = async (page: Page, parts: readonly string[], leastPx: number, unwind = '') => {
    for (const part of parts)
      for (const line of await measure(page, part, unwind)) {
        expect(line.capPx, line.text).toBeGreaterThanOrEqual(leastPx * 0.995)
        expect(line, line.text).toMatchObject({ inView: true })
        expect(line.cutPx, line.text).toBeLessThan(2)
        expect(line.narrowed, line.text).toBeGreaterThanOrEqual(0.57)
      }
  }

  const parts = (page: Page, unwind: string) =>
    page.locator(`[data-unwind="${unwind}"] [data-part]`).evaluateAll((all) => all.map((one) => one.dataset['part']))

  it('four lanes on a 43-inch screen have figures, verbs and what decides at once', async () => {
    const page = await open({ change: calmLanes(4) })
    expect(await page.locator('.lane').count()).toBe(4)
    await expectLegible(page, ['time', 'name', 'verb'], MUST_PX)
    // With nothing from far off beside it, ready and festoon have 20 arcmin too.
    await expectLegible(page, ['festoon', 'ready', 'splice-at', 'ready-by', 'next-material'], LEAST_PX)
    for (const unwind of ['calm_0', 'calm_2']) await expectLegible(page, ['festoon'], MUST_PX, unwind)
    // All stands there at any time; only what decides nothing takes turns, and comes round.
    const seen = new Set<string>()
    await expect
      .poll(
        async () => {
          const now = await parts(page, 'calm_1')
          expect(now).toEqual(expect.arrayContaining(['name', 'verb', 'ready', 'festoon', 'time']))
          for (const part of now) seen.add(part ?? '')
          return ['ready-by', 'splice-at', 'next-material', 'next-width', 'next-staged'].filter((one) => !seen.has(one))
        },
        { timeout: 60_000, interval: 1000 },
      )
      .toEqual([])
    expect(await page.locator('[data-unwind="calm_0"] [data-part="verb"]').textContent()).toBe('Ready')
  })

  it('what decides stays in words when something is wrong, and a rise says why beside it', async () => {
    const lanes = calmLanes(4)
    let slowed = 1
    const page = await open({
      change: (views) =>
        lanes(views).map((view, index) => ({
          ...view,
          ...(index === 2
            ? {
                alarms: [alarm('splice_overdue', 'Splice overdue', view.time)],
                seconds_to_splice: (view.seconds_to_splice ?? 0) * slowed,
                line_speed: (view.line_speed ?? 300) / slowed,
              }
            : {}),
          ...(index === 0
            ? { alarms: [alarm('splice_failed', 'Splice failed: web break', view.time, view.time)] }
            : {}),
        })),
    })
    const textOf = (unwind: string, part: string) =>
      page.locator(`[data-unwind="${unwind}"] [data-part="${part}"]`).textContent()
    expect(await textOf('calm_2', 'wrong')).toBe('Splice overdue')
    expect(await textOf('calm_2', 'ready')).toBe('roll ready')
    expect(await textOf('calm_2', 'festoon')).toBe('Festoon OK')
    // What is over hides nothing, and is said.
    expect(await textOf('calm_0', 'was-0')).toBe('was: Splice failed')
    expect(await textOf('calm_0', 'verb')).toBe('Ready')
    expect(await textOf('calm_0', 'festoon')).toBe('Festoon OK')
    await expectLegible(page, ['was-0'], LEAST_PX)
    await expectLegible(page, ['wrong', 'verb', 'ready', 'festoon'], LEAST_PX)
    await expectLegible(page, ['time', 'name'], MUST_PX)
    slowed = 2
    const note = page.locator('[data-unwind="calm_2"] [data-part="time-note"]')
    await note.waitFor()
    const sinceMs = Date.now()
    expect(await note.textContent()).toBe('line slowed')
    await expectLegible(page, ['time-note'], LEAST_PX)
    await note.waitFor({ state: 'detached', timeout: 30_000 })
    expect(Date.now() - sinceMs).toBeGreaterThan(9000)
    await page.locator('[data-unwind="calm_2"] [data-part="wrong"]').waitFor()
  })

  it('so have twelve lanes at 3 m, one row each', async () => {
    const page = await open({ change: calmLanes(12), wall: { screen_diagonal: 1.0922, distance: 3 } })
    expect(await page.locator('.lane').count()).toBe(12)
    // 17.5 mm and 14.0 mm at 3 m.
    const [mustPx, leastPx] = [(17.5 / 535.5) * 1080, (14.0 / 535.5) * 1080]
    await expectLegible(page, ['time', 'name', 'verb'], mustPx)
    await expectLegible(page, ['ready', 'festoon', 'splice-at'], leastPx)
    // What a screen has to hold and draw: fails when it grows.
    const elements = await page.locator('main *').count()
    expect(elements).toBeGreaterThan(12 * 30)
    expect(elements).toBeLessThan(12 * 75)
  })

  it('trouble has at least 16 arcmin, and nothing of it is cut', async () => {
    const page = await open({ labelPressAtS: 100 })
    await page.locator('[data-unwind="label_press"][data-tone="high"]').waitFor()
    await expectLegible(page, ['wrong', 'verb', 'ready', 'festoon'], LEAST_PX)
    expect(await page.locator('[data-unwind="sack_line"]').locator('[data-part="wrong"]').textContent()).toBe(
      'Source lost: hall_broker',
    )
  })

  it('lanes do not lie over each other', async () => {
    const page = await open({ change: calmLanes(4) })
    const boxes = await page.locator('.lane').evaluateAll((lanes) =>
      lanes.map((one) => {
        const inner = [...one.querySelectorAll('[data-part="verb"], .lane-strip')].map((e) => e.getBoundingClientRect())
        return { top: one.getBoundingClientRect().top, bottom: Math.max(...inner.map((box) => box.bottom)) }
      }),
    )
    for (let i = 1; i < boxes.length; i++) expect(boxes[i]!.top).toBeGreaterThanOrEqual(boxes[i - 1]!.bottom - 1)
    expect(await page.evaluate(() => document.documentElement.scrollHeight <= innerHeight)).toBe(true)
  })
})

describe('colours', () => {
  it.each(['light', 'dark'] as const)(
    'of every text on the wall lie between 7:1 and 15:1 in %s',
    async (colorScheme) => {
      const page = await open(
        { change: ([label, ...others]) => [{ ...label!, alarms: [] }, ...others] },
        { colorScheme },
      )
      await page.locator('[data-part="wrong"]').first().waitFor()
      await page.locator('[data-part="festoon"]').first().waitFor()
      const pairs = await page.evaluate(() => {
        const found: { text: string; ink: string; ground: string }[] = []
        const walker = document.createTreeWalker(document.querySelector('main')!, NodeFilter.SHOW_TEXT)
        for (let node = walker.nextNode(); node !== null; node = walker.nextNode()) {
          const text = node.textContent?.trim() ?? ''
          const element = node.parentElement!
          if (text === '' || element.closest('.hidden, .strip') !== null) continue
          let ground = ''
          for (let at: Element | null = element; at !== null && ground === ''; at = at.parentElement) {
            // A bar of trouble is drawn before its words.
            for (const of of ['::before', null] as const) {
              const colour = getComputedStyle(at, of).backgroundColor
              if (of === '::before' && getComputedStyle(at, of).content === 'none') continue
              if (ground === '' && !/^rgba\(.*, 0\)$/.test(colour)) ground = colour
            }
          }
          found.push({ text, ink: getComputedStyle(element).color, ground })
        }
        return found
      })
      expect(pairs.length).toBeGreaterThan(10)
      for (const { text, ink, ground } of pairs) {
        const value = contrast(ink, ground)
        expect(value, `${text}: ${ink} on ${ground}`).toBeGreaterThanOrEqual(7)
        expect(value, `${text}: ${ink} on ${ground}`).toBeLessThanOrEqual(15)
      }
    },
  )
})
