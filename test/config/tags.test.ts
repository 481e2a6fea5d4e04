import { describe, expect, test } from 'vitest'
import { diffConfig } from '../../edge/config/apply.ts'
import type { Config } from '../../edge/config/config.ts'
import { loadConfigText } from '../../edge/config/load.ts'
import { keyOfTag, recordingTags, tagsOfSource, usesOfTags } from '../../edge/config/tags.ts'

const unwind = (id: string, signals: string[], more = ''): string => `  ${id}:
    roll: { core_diameter: 100 mm, nominal_caliper: 80 um }
    splicer: { method: flying, splice_diameter: 130 mm${more} }
    signals:
${signals.map((line) => `      ${line}\n`).join('')}`

interface Plant {
  endpoint?: string
  unwinds?: string[]
  tail?: string
}
const SPEED = 'line_speed: { source: plc, address: i=1, unit: m/min }'
const PRESS = [
  SPEED,
  'roll_diameter: { source: hall, address: press, value_path: d, unit: mm }',
  'unwind_speed: { source: hall, address: press, value_path: v, unit: m/min }',
  'roll_id: { source: hall, address: roll }',
]
const COATER = [
  SPEED,
  'roll_diameter: { source: plc, address: i=2, unit: mm }',
  'roll_id: { source: yard, address: roll }',
  'material: { source: yard, address: label, value_path: m }',
]
const load = ({
  endpoint = 'opc.tcp://127.0.0.1:4840',
  unwinds = [unwind('press', PRESS), unwind('coater', COATER)],
  tail = '',
}: Plant = {}): Config =>
  loadConfigText(
    `version: 1
site: { name: Alder Quay Works, time_zone: Europe/Berlin }
sources:
  plc: { kind: opcua, endpoint: '${endpoint}' }
  hall: { kind: mqtt, url: 'mqtt://127.0.0.1:1883' }
  yard: { kind: mqtt, url: 'mqtt://127.0.0.1:1884' }
unwinds:
${unwinds.join('')}${tail}`,
    'plant.yaml',
  ).config

describe('tags', () => {
  const config = load()
  const tags = recordingTags(config)

  test('a source delivers each of its tags once', () => {
    expect(tagsOfSource(config, 'plc').map(keyOfTag)).toEqual(['plc|i=1', 'plc|i=2'])
    expect(tagsOfSource(config, 'hall').map(keyOfTag)).toEqual(['hall|press#d', 'hall|press#v', 'hall|roll'])
    expect(tagsOfSource(config, 'operator')).toEqual([])
  })

  test('one tag feeds every signal that names it', () => {
    expect(
      usesOfTags(config)
        .get('plc|i=1')
        ?.map((use) => `${use.unwind}.${use.signal.signal}`),
    ).toEqual(['press.line_speed', 'coater.line_speed'])
  })

  test.each([
    ['i=1', 'plc|i=1'],
    ['plc|i=1', 'plc|i=1'],
    ['press#d', 'hall|press#d'],
    ['hall|press#d', 'hall|press#d'],
    ['label', 'yard|label#m'],
    ['label#m', 'yard|label#m'],
    ['hall|roll', 'hall|roll'],
    ['yard|roll', 'yard|roll'],
    ['ready/press', 'operator|ready/press'],
    ['operator|ready/coater', 'operator|ready/coater'],
    ['flag/press', 'operator|flag/press'],
    ['flag/press/waiting', 'operator|flag/press/waiting'],
    ['acknowledge/press/web_break', 'operator|acknowledge/press/web_break'],
    ['acknowledge//store_failing', 'operator|acknowledge//store_failing'],
  ])('the recording\'s "%s" is %s', (text, key) => {
    const found = tags.find(text)
    expect(found).toMatchObject({ kind: 'tag', key })
    if (found.kind === 'tag') expect(`${found.source}|${found.address}`).toBe(key)
  })

  test.each([
    'i=9',
    'ready/nobody',
    'flag/nobody',
    'flag/press/other',
    'acknowledge/press/nonsense',
    'plc|press#d',
    '',
    'press#',
    'constructor',
  ])('"%s" is unknown', (text) => {
    expect(tags.find(text)).toEqual({ kind: 'unknown' })
  })

  test('an address that fits two tags is refused with the forms that are clear', () => {
    expect(tags.find('press')).toEqual({
      kind: 'ambiguous',
      forms: ['press#d', 'press#v'],
      sentence: 'The tag "press" fits 2 tags of the config: write "press#d" or "press#v".',
    })
    expect(tags.find('roll')).toMatchObject({ kind: 'ambiguous', forms: ['hall|roll', 'yard|roll'] })
  })

  test('the shortest text names its tag and no other', () => {
    expect(tags.mapped.map(({ text }) => text)).toEqual([
      'i=1',
      'press#d',
      'press#v',
      'hall|roll',
      'i=2',
      'yard|roll',
      'label',
    ])
    for (const { key, text } of tags.mapped) expect(tags.find(text)).toMatchObject({ kind: 'tag', key })
    expect(tags.textOf('operator|ready/press')).toBe('ready/press')
    expect(tags.textOf('plc|i=9')).toBeUndefined()
  })

  test("a plant's own topic ready/press does not pass for a person's entry", () => {
    const own = recordingTags(
      load({ unwinds: [unwind('press', [...PRESS, 'new_roll_ready: { source: hall, address: ready/press }'])] }),
    )
    expect(own.find('ready/press')).toMatchObject({
      kind: 'ambiguous',
      forms: ['hall|ready/press', 'operator|ready/press'],
    })
  })
})

describe('what a changed config asks of a running daemon', () => {
  const none = { added: [], removed: [], changed: [] }
  const before = load()

  test('nothing, where nothing changed', () => {
    expect(diffConfig(before, load())).toEqual({
      sources: none,
      unwinds: none,
      restart: [],
      isReordered: false,
      isEmpty: true,
    })
  })

  test('one source, where its endpoint changed', () => {
    const diff = diffConfig(before, load({ endpoint: 'opc.tcp://127.0.0.1:4841' }))
    expect(diff).toEqual({
      sources: { ...none, changed: ['plc'] },
      unwinds: none,
      restart: [],
      isReordered: false,
      isEmpty: false,
    })
  })

  test('one unwind, where its splicer changed', () => {
    const diff = diffConfig(
      before,
      load({ unwinds: [unwind('press', PRESS), unwind('coater', COATER, ', stop: 2 s')] }),
    )
    expect(diff).toMatchObject({ sources: none, unwinds: { ...none, changed: ['coater'] }, restart: [] })
  })

  test('a new tag reaches its source', () => {
    const diff = diffConfig(
      before,
      load({
        unwinds: [
          unwind('press', PRESS),
          unwind('coater', [...COATER, 'tension: { source: plc, address: i=7, unit: N }']),
        ],
      }),
    )
    expect(diff).toMatchObject({ sources: { ...none, changed: ['plc'] }, unwinds: { ...none, changed: ['coater'] } })
  })

  test('an unwind that comes and one that goes', () => {
    const after = load({ unwinds: [unwind('press', PRESS), unwind('slitter', COATER)] })
    expect(diffConfig(before, after)).toMatchObject({
      sources: none,
      unwinds: { added: ['slitter'], removed: ['coater'], changed: [] },
    })
  })

  test('another order of the unwinds touches no source', () => {
    // Both have tags of their own at the PLC, so that its list of tags is in another order too.
    const press = unwind('press', [...PRESS, 'tension: { source: plc, address: i=7, unit: N }'])
    const coater = unwind('coater', COATER)
    const before = load({ unwinds: [press, coater] })
    const after = load({ unwinds: [coater, press] })
    expect(diffConfig(before, after)).toEqual({
      sources: none,
      unwinds: none,
      restart: [],
      isReordered: true,
      isEmpty: false,
    })
  })

  test('other sections need a new start', () => {
    const after = load({ tail: 'web: { listen: 127.0.0.1:9000 }\nwall: { distance: 5 m }\n' })
    expect(diffConfig(before, after)).toMatchObject({
      sources: none,
      unwinds: none,
      restart: ['web', 'wall'],
      isEmpty: false,
    })
  })
})
