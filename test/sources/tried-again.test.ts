/** What a look that ends says of a tag: its trouble, and not that anything is tried again. */
import { expect, test } from 'vitest'
import { reportOf } from '../../edge/probe.ts'
import { itemTrouble } from '../../edge/sources/opcua-trouble.ts'
import type { SourceHealth } from '../../edge/sources/source.ts'

const trouble = itemTrouble('plc', 'ns=2;s=Press.Speed', 'BadOutOfService')
const HEALTH: SourceHealth = {
  ...{ name: 'plc', kind: 'opcua', state: 'connected', trouble: undefined, sinceTMs: 0, clockOffsetMs: 0 },
  tags: [
    {
      tag: { source: 'plc', address: 'ns=2;s=Press.Speed', valuePath: undefined, timePath: undefined },
      ...{ quality: undefined, trouble, lastValue: undefined, lastTMs: undefined, samples: 0, ignored: 0 },
    },
  ],
}
test('the sentence of a tag stands without it in check, with it while the monitor runs', () => {
  const probe = reportOf({ health: () => HEALTH }, 1000)
  const said = 'plc does not deliver ns=2;s=Press.Speed (BadOutOfService): look at the server.'
  expect(probe.tags[0]?.trouble).toBe(said)
  expect(trouble).toBe(`${said} It is tried again.`)
})
