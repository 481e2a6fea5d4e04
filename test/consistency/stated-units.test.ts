/** The server's own word on its units beside what the tags say of each other. */
import { describe, expect, it } from 'vitest'
import type { ConsistencyView } from '../../edge/api/messages.ts'
import { withStatedUnits } from '../../edge/consistency/stated-units.ts'
import { createMessages } from '../../edge/messages/message.ts'
import { REQUIRED } from '../truth/scenario.ts'
import { recorded, watchSamples } from './watch-simulation.ts'

const messages = createMessages('en', { strict: true })
const speed = { source: 'line_plc', address: 'ns=2;s=label_press.Line.Speed' }

function found(stated: string | null, spoil?: (value: number) => number, durationS = 420): ConsistencyView {
  const samples = recorded({ signals: REQUIRED, durationS }, { tags: spoil === undefined ? {} : { line_speed: spoil } })
  return withStatedUnits(watchSamples(samples).view, samples.config, [{ ...speed, stated_unit: stated }], messages)
}

describe('a unit that the server states', () => {
  it('changes nothing where it agrees, or where the server states none', () => {
    for (const stated of ['m/min', null, 'sheets per hour']) {
      expect(found(stated)).toMatchObject({ findings: [], verdict: 'agree' })
    }
  })

  it('is a finding beside that of the tags, before they say anything', () => {
    const early = found('ft/min', (value) => value / 0.3048, 12)
    expect(early.verdict).toBe('disagree')
    expect(early.findings).toMatchObject([
      { id: 'line_speed.stated_unit', severity: 'wrong', looks_like: 'ft/min as m/min', signals: ['line_speed'] },
    ])
    // One foot is 0.3048 m, exact by definition.
    expect(early.findings[0]?.factor).toBeCloseTo(1 / 0.3048, 9)
    expect(early.findings[0]?.text).toBe(
      "line_speed (ns=2;s=label_press.Line.Speed): the server itself states ft/min, the config m/min. One of them is wrong: hold the value against the machine's own screen, then correct the unit where it is wrong.",
    )
    const late = found('ft/min', (value) => value / 0.3048)
    expect(late.findings.map(({ id }) => id)).toEqual(['line_speed.unit', 'line_speed.stated_unit'])
  })

  it('is doubted where the tags agree as they are configured', () => {
    const [finding] = found('ft/min').findings
    expect(finding?.severity).toBe('doubtful')
    expect(finding?.text).toContain("so the server's word is likelier wrong")
  })
})
