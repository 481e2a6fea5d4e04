/** What people change is logged by the whole pipeline: settings from their tags, services as they enter them. */
import { expect, test } from 'vitest'
import { Bench, configText } from './bench.ts'

const config = configText([
  'splice_diameter: { source: press_gateway, address: press/splice_at, unit: mm }',
  'speed_setpoint: { source: press_gateway, address: press/set, unit: m/min }',
  'extra.press_time: { source: press_gateway, address: press/press_time, unit: ms, role: setting }',
  'extra.vacuum: { source: press_gateway, address: press/vacuum, unit: kPa }',
])

const said = (bench: Bench) =>
  bench.log.map(({ unwind, kind, subject, from, to, unit }) => [unwind, kind, subject, from, to, unit].join(' '))

test('a setting once it has stood, in the contract’s unit or its own; a recipe, a stop and a measured value are none', () => {
  const bench = new Bench(config).begin()
  for (const [address, value] of [
    ['splice_at', 130],
    ['set', 300],
    ['press_time', 400],
    ['vacuum', 61],
  ] as const) {
    bench.say('press_gateway', `press/${address}`, value)
  }
  bench.run(40)
  expect(said(bench)).toEqual([])
  const changedTMs = bench.tMs
  bench.say('press_gateway', 'press/press_time', 450)
  bench.say('press_gateway', 'press/vacuum', 40)
  bench.run(2)
  bench.say('press_gateway', 'press/splice_at', 126)
  bench.run(10)
  expect(said(bench)).toEqual(['press setting extra.press_time 400 450 ms', 'press setting splice_diameter 130 126 mm'])
  expect(Date.parse(bench.log[0]!.time)).toBeLessThan(changedTMs + 1000)
  bench.say('press_gateway', 'press/set', 0)
  bench.run(40)
  bench.say('press_gateway', 'press/set', 300)
  bench.run(40)
  expect(bench.log).toHaveLength(2)
})

test('a setting that stood before a restart is not new after it; one changed meanwhile is', () => {
  const before = new Bench(config).begin()
  before.say('press_gateway', 'press/press_time', 400)
  before.run(20)
  const { data } = before.unwinds.snapshots().find(({ unwind }) => unwind === 'press')!
  const after = new Bench(config).begin()
  after.unwinds.restore('press', JSON.parse(JSON.stringify(data)))
  after.tMs = before.tMs
  after.say('press_gateway', 'press/press_time', 500)
  after.run(10)
  expect(said(after)).toEqual(['press setting extra.press_time 400 500 ms'])
})

test('a service is of the unwind that it names, with who did it', () => {
  const bench = new Bench(config).begin().run(1)
  bench.say('operator', 'service/press/tape', 'B-204', { person: 'Ada' })
  bench.run(1)
  expect(bench.log).toMatchObject([{ unwind: 'press', kind: 'service', subject: 'tape', note: 'B-204', person: 'Ada' }])
})
