/** What axe finds against WCAG 2.2 AA and its best practices on a page as it stands, one sentence for each place. */
import axe from 'axe-core'
import type { Page } from 'playwright-core'

export const violations = async (page: Page): Promise<string[]> => {
  await page.evaluate(axe.source)
  return page.evaluate(async () => {
    const runner = (globalThis as unknown as { axe: typeof axe }).axe
    const tags = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']
    const found = await runner.run(document, { runOnly: { type: 'tag', values: tags } })
    return found.violations.flatMap(({ id, nodes }) =>
      nodes.map((node) => `${id}: ${node.target} ${node.failureSummary}`),
    )
  })
}
