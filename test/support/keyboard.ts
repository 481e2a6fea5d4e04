/** A page walked by the Tab key alone: what it comes to, and whether somebody who looks sees where they are. */
import type { Page } from 'playwright-core'

export interface Walk {
  /** Things that can be used and that Tab never came to. */
  missed: string[]
  /** Stops at which nothing shows where the keyboard is. */
  unseen: string[]
  stops: number
}

/** More stops than any page has: a trap ends here. */
const MOST_STOPS = 600

export const walkByTab = async (page: Page): Promise<Walk> => {
  const wanted = await page.evaluate(() => {
    const usable = 'a[href], button, input, select, textarea, summary, [tabindex="0"]'
    const isThere = (element: HTMLElement): boolean =>
      element.checkVisibility({ visibilityProperty: true }) && !element.matches(':disabled')
    const found = [...document.querySelectorAll<HTMLElement>(usable)].filter(isThere)
    for (const [index, element] of found.entries()) element.dataset['walk'] = String(index)
    ;(document.activeElement as HTMLElement | null)?.blur()
    // Of the radio buttons of one group Tab comes to one.
    return found.map((element) => ({
      group: element instanceof HTMLInputElement && element.type === 'radio' ? element.name : '',
      name: `${element.tagName.toLowerCase()} ${element.getAttribute('aria-label') ?? element.textContent ?? ''}`
        .trim()
        .slice(0, 60),
    }))
  })
  const reached = new Set<number>()
  const unseen: string[] = []
  let stops = 0
  for (; stops < MOST_STOPS; stops++) {
    await page.keyboard.press('Tab')
    const stop = await page.evaluate(() => {
      const at = document.activeElement as HTMLElement | null
      if (at === null || at === document.body) return undefined
      const { outlineStyle, outlineWidth } = getComputedStyle(at)
      return {
        walk: Number(at.dataset['walk'] ?? -1),
        isSeen: outlineStyle !== 'none' && Number.parseFloat(outlineWidth) >= 2,
      }
    })
    // Behind the last one the browser itself has its turn.
    if (stop === undefined) break
    if (reached.has(stop.walk) && stop.walk === 0 && stops > 1) break
    // Within a date field the browser itself marks which part is meant.
    const isFirst = !reached.has(stop.walk)
    reached.add(stop.walk)
    if (isFirst && !stop.isSeen) unseen.push(wanted[stop.walk]?.name ?? 'something that nobody can use')
  }
  const groups = new Set([...reached].map((walk) => wanted[walk]?.group ?? ''))
  const missed = wanted.filter(({ group }, walk) => !reached.has(walk) && (group === '' || !groups.has(group)))
  return { missed: missed.map(({ name }) => name), unseen, stops }
}
