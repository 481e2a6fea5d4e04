/** What axe finds against WCAG 2.2 AA and its best practices on a page as it stands, one sentence for each place. */
import axe from 'axe-core'
import type { Page } from 'playwright-core'

export const violations = async (page: Page): Promise<string[]> => {
  await page.evaluate(axe.source)
  return page.evaluate(async () => {
    const runner = (globalThis as unknown as { axe: typeof axe }).axe
    // What stays at the edge while the page scrolls covers something at any moment, and nothing for good.
    const staying = [...document.querySelectorAll<HTMLElement>('.foot, .caution')]
    for (const element of staying) element.style.position = 'static'
    const tags = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']
    const found = await runner.run(document, { runOnly: { type: 'tag', values: tags } })
    for (const element of staying) element.style.position = ''
    return found.violations.flatMap(({ id, nodes }) =>
      nodes.map((node) => `${id}: ${node.target} ${node.failureSummary}`),
    )
  })
}
