/** A changed config: what the old address said is no evidence against the new one. */
import { expect, it } from 'vitest'
import type { UnwindConfig } from '../../edge/config/config.ts'
import { withoutEvidenceOf } from '../../edge/consistency/forget.ts'
import { ConsistencyWatch } from '../../edge/consistency/watch.ts'
import { createMessages } from '../../edge/messages/message.ts'
import { UnwindSignals } from '../../edge/signals/unwind-signals.ts'
import { REQUIRED } from '../truth/scenario.ts'
import { recorded, watchSamples } from './watch-simulation.ts'

const inFeet = recorded({ signals: REQUIRED, durationS: 420 }, { tags: { line_speed: (value) => value / 0.3048 } })
const { watch, view } = watchSamples(inFeet)
const endTMs = inFeet.samples.at(-1)?.tMs ?? 0

function viewOf(change: (signals: UnwindConfig['signals'][number]) => UnwindConfig['signals'][number]) {
  const config = { ...inFeet.config, signals: inFeet.config.signals.map(change) }
  const again = new ConsistencyWatch(config, new UnwindSignals(config, () => 10))
  again.restore(JSON.parse(JSON.stringify(watch.snapshot())))
  return again.view(endTMs, createMessages('en', { strict: true }))
}

it('keeps all where nothing changed', () => {
  expect(view.findings.map(({ id }) => id)).toEqual(['line_speed.unit'])
  expect(viewOf((signal) => signal)).toEqual(view)
})

it('has no finding against a signal that was moved to another tag, nor one whose unit was put right', () => {
  const moved = viewOf((one) =>
    one.signal === 'line_speed' ? { ...one, tag: { ...one.tag, address: 'ns=2;s=Other.Speed' } } : one,
  )
  expect([moved.findings, moved.relations]).toEqual([[], []])
  const righted = viewOf((one) => (one.signal === 'line_speed' ? { ...one, unit: 'ft/min', toSi: 0.00508 } : one))
  expect(righted.findings).toEqual([])
})

it('keeps what the others say of each other', () => {
  const moved = viewOf((one) =>
    one.signal === 'buffer_position' ? { ...one, tag: { ...one.tag, address: 'ns=2;s=Press.OrderNumber' } } : one,
  )
  expect(moved.relations.map(({ id }) => id)).toEqual(
    view.relations.map(({ id }) => id).filter((id) => !id.startsWith('festoon')),
  )
  expect(moved.relations.length).toBeGreaterThan(0)
})

it('forgets what was refused of a moved signal', () => {
  const words = recorded({ signals: REQUIRED, durationS: 60 })
  const bad = {
    ...words,
    samples: words.samples.map((sample) =>
      sample.address.includes('Festoon') ? { ...sample, value: 'AQ-4100' } : sample,
    ),
  }
  const before = watchSamples(bad)
  expect(before.view.findings.map(({ id }) => id)).toEqual(['buffer_position.refused'])
  const config = {
    ...bad.config,
    signals: bad.config.signals.map((one) =>
      one.signal === 'buffer_position' ? { ...one, tag: { ...one.tag, address: 'ns=2;s=Festoon' } } : one,
    ),
  }
  const again = new ConsistencyWatch(config, new UnwindSignals(config, () => 10))
  again.restore(before.watch.snapshot())
  expect(again.view(endTMs, createMessages('en', { strict: true })).findings).toEqual([])
})

it('forgets what each spindle read where its diameter is read otherwise', () => {
  const { consistency } = watch.snapshot()
  for (const changed of ['roll_diameter', 'active_spindle']) {
    expect(withoutEvidenceOf(consistency, [changed])).not.toHaveProperty('spindles')
  }
  expect(withoutEvidenceOf(consistency, ['unwind_speed'])).toHaveProperty('spindles')
})
