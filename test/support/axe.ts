/** What axe finds against WCAG 2.2 AA and its best practices on a page as it stands, one sentence for each place. */
import axe from 'axe-core'
import type { Page } from 'playwright-core'

/** `colours`: only what differs between light and dark, where the other one has been looked at whole. */
export const violations = async (page: Page, only?: 'colours'): Promise<string[]> => {
  if (!(await page.evaluate(() => 'axe' in globalThis))) await page.evaluate(axe.source)
  return page.evaluate(async (isColours) => {
    const runner = (globalThis as unknown as { axe: typeof axe }).axe
    // What stays at the edge while the page scrolls covers something at any moment, and nothing for good.
    const staying = [...document.querySelectorAll<HTMLElement>('.foot, .caution')]
    for (const element of staying) element.style.position = 'static'
    const tags = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']
    const found = await runner.run(document, {
      runOnly: isColours ? { type: 'rule', values: ['color-contrast'] } : { type: 'tag', values: tags },
    })
    for (const element of staying) element.style.position = ''
    return found.violations.flatMap(({ id, nodes }) =>
      nodes.map((node) => `${id}: ${node.target} ${node.failureSummary}`),
    )
  }, only === 'colours')
}
