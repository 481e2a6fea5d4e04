/** A further tag whose config maps its values to words is read, kept, shown and logged by them, as its config says it. */
import { expect, test } from 'vitest'
import type { SignalPoint } from '../../edge/history/store.ts'
import { traceView } from '../../edge/history/trace-view.ts'
import { createMessages } from '../../edge/messages/message.ts'
import { columnKindIn } from '../../edge/signals/column-kind.ts'
import { signalsView } from '../../edge/signals-view.ts'
import { TagRates } from '../../edge/tag-rates.ts'
import { Unwinds } from '../../edge/unwinds.ts'
import { spliceView } from '../history/samples.ts'
import { Bench, configOf, configText, START_TMS } from './bench.ts'

const text = configText([
  'extra.mode: { source: press_gateway, address: press/mode, values: { 0: waiting, 10: preparing, 20: splicing, 21: splicing } }',
  'extra:',
  '  recipe: { source: press_gateway, address: press/recipe, role: setting, values: { 1: thin board, 2: thick board } }',
  '  stage: { source: press_gateway, address: press/stage, values: { IDLE: idle, RUN: running } }',
  '  nip: { source: press_gateway, address: press/nip, unit: bar, values: { 1: 2.5, 2: 4 } }',
  '  guide: { source: press_gateway, address: press/guide, unit: mm, role: guide, travel: [-20, 30] }',
])

test('its word stands at the splice, on the page of signals and in the log of settings', () => {
  const bench = new Bench(text).begin()
  const say = (tag: string, value: number | string) => bench.say('press_gateway', `press/${tag}`, value)
  for (const [tag, value] of Object.entries({ mode: 20, recipe: 1, stage: 'RUN', nip: 2, guide: 3 })) say(tag, value)
  bench.run(30)
  say('recipe', 2)
  // Not in the map: no value.
  say('mode', 99)
  bench.run(10)
  expect(bench.ignored).toEqual(['press.extra.mode=99'])
  expect(bench.log.map(({ subject, from, to }) => [subject, from, to])).toEqual([
    ['extra.recipe', 'thin board', 'thick board'],
  ])
  const readings = bench.unwinds.readings('press', bench.tMs)
  const view = signalsView({
    ...{
      config: configOf(text),
      nowMs: bench.tMs,
      startedMs: START_TMS,
      sources: [],
      rates: new TagRates(() => undefined),
    },
    readings: (unwind) => (unwind === 'press' ? readings : []),
  })
  const uses = view.tags.flatMap((tag) => tag.uses).filter(({ signal }) => signal.startsWith('extra.'))
  expect(uses.map(({ signal, raw, value }) => [signal.slice(6), raw, value])).toEqual([
    ['mode', 20, 'splicing'],
    ['recipe', 2, 'thick board'],
    ['stage', 'RUN', 'running'],
    ['nip', 2, 4],
    ['guide', 3, 3],
  ])
})

test('a trace carries a number for each word, and says which', () => {
  const config = configOf(text)
  const points: SignalPoint[] = []
  const unwinds = new Unwinds(config, createMessages('en', { strict: true }), {
    splice: () => undefined,
    alarm: () => undefined,
    signal: (unwind, signal, tMs, value) => points.push({ unwind, signal, tMs, value }),
  })
  const said = [
    ['mode', 10],
    ['mode', 21],
    ['stage', 'IDLE'],
    ['stage', 'RUN'],
    ['nip', 1],
    ['guide', -7],
  ] as const
  for (const [i, [tag, value]] of said.entries()) {
    const tMs = START_TMS + i
    unwinds.accept({
      ...{ source: 'press_gateway', address: `press/${tag}`, value, quality: 'good', tMs, arrivalTMs: tMs },
    })
  }
  const kindOf = columnKindIn(config.unwinds[0]!.signals, {})
  const { columns } = traceView(spliceView(START_TMS), points, kindOf)
  const of = (name: string) => {
    const { signal: _, values, ...rest } = columns.find(({ signal }) => signal === `extra.${name}`)!
    return { ...rest, last: values.at(-1) }
  }
  const plain = { unit: '', is_state: false }
  const meanings = [
    { value: 0, text: 'waiting' },
    { value: 10, text: 'preparing' },
    { value: 20, text: 'splicing' },
  ]
  // Two values of one meaning are one.
  expect(of('mode')).toEqual({ ...plain, meanings, last: 20 })
  // Words for words have no number of their own: their place in the map.
  expect(of('stage')).toMatchObject({ last: 1, meanings: [{ value: 0 }, { value: 1, text: 'running' }] })
  expect(of('nip')).toEqual({ unit: 'bar', is_state: false, last: 2.5 })
  expect(of('guide')).toEqual({ unit: 'mm', is_state: false, ends: [-20, 30], last: -7 })
})
