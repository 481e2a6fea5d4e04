import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, describe, expect, test } from 'vitest'
import type { SignalConfig, UnwindConfig } from '../../edge/config/config.ts'
import { loadConfigFile, loadConfigText } from '../../edge/config/load.ts'
import { LastwrapError } from '../../edge/errors.ts'

const HEAD = `version: 1
site: { name: Alder Quay Works, time_zone: Europe/Berlin }
sources:
  plc: { kind: opcua, endpoint: 'opc.tcp://127.0.0.1:4840' }
  hall: { kind: mqtt, url: 'mqtt://127.0.0.1:1883' }
`
const SPEED = `      line_speed: { source: plc, address: i=1, unit: m/min }
      roll_diameter: { source: plc, address: i=2, unit: mm }
`
interface Parts {
  splicer?: string
  buffer?: string
  unit?: string
  signals?: string
  tail?: string
}
const plant = ({
  splicer = '',
  buffer = '',
  unit = "'%'",
  signals = '',
  tail = '',
}: Parts = {}): string => `${HEAD}unwinds:
  press:
    roll: { core_diameter: 100 mm, nominal_caliper: 80 um }
    splicer: { method: zero_speed, splice_diameter: 130 mm${splicer} }
    buffer: { ${buffer} }
    signals:
${SPEED}      buffer_position: { source: hall, address: festoon, value_path: x, unit: ${unit} }
${signals}${tail}`

const load = (text: string) => loadConfigText(text, '/plants/alder/plant.yaml')
const unwindOf = (text: string): UnwindConfig => load(text).config.unwinds[0]!
const signalOf = (text: string, name: string): SignalConfig =>
  unwindOf(text).signals.find(({ signal }) => signal === name)!

describe('defaults', () => {
  const { config, warnings } = load(plant())

  test('a file with only what is needed gets every default', () => {
    expect(config.site).toEqual({
      name: 'Alder Quay Works',
      timeZone: 'Europe/Berlin',
      language: 'en',
      shifts: ['06:00', '14:00', '22:00'],
    })
    expect(config.sources['plc']).toEqual({
      name: 'plc',
      kind: 'opcua',
      endpoint: 'opc.tcp://127.0.0.1:4840',
      security: { policy: 'Basic256Sha256', mode: 'sign_and_encrypt' },
      samplingMs: 100,
      publishingMs: 200,
      time: 'source',
      staleAfterS: 10,
      keepAliveS: 2,
      user: undefined,
    })
    expect(config.sources['hall']).toMatchObject({
      kind: 'mqtt',
      maxPayloadBytes: 256_000,
      caFile: undefined,
      will: undefined,
    })
    expect(config.unwinds[0]).toMatchObject({ id: 'press', name: 'press' })
    expect(config.unwinds[0]?.splicer).toEqual({
      method: 'zero_speed',
      trigger: 'diameter',
      spliceDiameterM: 0.13,
      spliceSpeedMps: undefined,
      stopS: 1.1,
      decelerationMps2: 2.5,
      accelerationMps2: 1.2,
      overspeed: 0.12,
      unwind: 'driven',
      preparation: { fetchS: 0, loadS: 0, splicePrepS: 240, totalS: 240 },
      pathLengthM: 60,
      runOutRisk: 0.001,
      refusesWithinS: 0,
      tailM: 0,
      spareWraps: 3,
      wasteLimitM: 20,
      stations: [],
      sideLay: undefined,
      register: undefined,
    })
    expect(config.unwinds[0]?.roll.outOfRoundLimitM2PerS).toBeCloseTo(0.003 * 5, 12)
    expect(config.lines).toEqual([])
    expect(config.unwinds[0]?.buffer).toEqual({
      mode: 'fill_before',
      calibration: { emptyPosition: 0, emptyStoredM: 0, fullPosition: 1, fullStoredM: 30 },
      runningStoredM: 7.5,
      fillStoredM: 28.5,
      tripStoredM: 0.9,
      reserveM: 1,
    })
    expect(config.history).toEqual({
      keepSamplesS: 90 * 86_400,
      keepTracesS: 90 * 86_400,
      keepBadTracesS: 730 * 86_400,
      keepAuditS: 3650 * 86_400,
    })
    expect(config.database).toBeUndefined()
    expect(config.web).toEqual({
      host: '127.0.0.1',
      port: 8420,
      withoutSignIn: 'look',
      idleLockS: 900,
      tls: undefined,
      basePath: '',
      allowedHosts: [],
      trustedProxies: [],
    })
    expect(config.wall).toEqual({ screenDiagonalM: 43 * 0.0254, distanceM: 8 })
  })

  test('what a buffer holds is not guessed in silence', () => {
    expect(warnings).toEqual([
      '/plants/alder/plant.yaml:10:5: unwinds.press.buffer.full: is not stated, so 30 m of web at 100 % are assumed: state what yours holds.',
    ])
  })

  test('nothing of a config can be changed', () => {
    expect(() => Object.assign(config.unwinds[0]!.roll, { coreDiameterM: 1 })).toThrow(TypeError)
    expect(() => (config.unwinds as unknown[]).push(1)).toThrow(TypeError)
    expect(Object.isFrozen(config.sources['plc'])).toBe(true)
  })

  test('a section whose keys are all commented out is as if left out', () => {
    expect(load(`${plant()}history:\nweb:\nwall:\nmaterials:\n`).config).toEqual(config)
  })
})

describe('the buffer in metres of web', () => {
  const full = 'full: { position: 100 %, stored: 30 m }'
  const bufferOf = (buffer: string, unit?: string) =>
    unwindOf(plant({ buffer, ...(unit === undefined ? {} : { unit }) })).buffer!

  test('a tag in %: positions are positions', () => {
    const buffer = bufferOf(
      'empty: { position: 10 %, stored: 2 m }, full: { position: 90 %, stored: 26 m }, running_position: 30 %, trip_position: 15 %',
    )
    // 3 m for each 10 %: 2 + 0.2·30 and 2 + 0.05·30.
    expect(buffer.runningStoredM).toBe(8)
    expect(buffer.tripStoredM).toBe(3.5)
    expect(buffer.calibration).toEqual({ emptyPosition: 0.1, emptyStoredM: 2, fullPosition: 0.9, fullStoredM: 26 })
  })

  test('a tag in mm: positions in any length, % is the share of the stored web', () => {
    const points = 'empty: { position: 200 mm, stored: 0 m }, full: { position: 1.8 m, stored: 32 m }'
    const buffer = bufferOf(`${points}, running_position: 25 %, fill_position: 1700 mm, trip_position: 10 in`, 'mm')
    expect(buffer.calibration).toMatchObject({ emptyPosition: 0.2, fullPosition: 1.8 })
    expect(buffer.runningStoredM).toBe(8)
    expect(buffer.fillStoredM).toBe(30)
    // 10 in are 254 mm: 54 mm of 1600 mm of travel.
    expect(buffer.tripStoredM).toBeCloseTo((0.054 / 1.6) * 32, 9)
  })

  test('a raw count has no unit to write, and may fall as web is stored', () => {
    const buffer = bufferOf(
      "empty: { position: 27648, stored: 0 m }, full: { position: '0 1', stored: 20 m }, running_position: 20736",
      "'1'",
    )
    expect(buffer.calibration).toMatchObject({ emptyPosition: 27_648, fullPosition: 0 })
    expect(buffer.runningStoredM).toBe(5)
  })

  test('riding full', () => {
    expect(bufferOf(`mode: rides_full, ${full}`)).toMatchObject({ runningStoredM: 27, fillStoredM: 27 })
    expect(bufferOf(`mode: rides_full, ${full}, running_position: 80 %`)).toMatchObject({
      runningStoredM: 24,
      fillStoredM: 24,
    })
  })
})

describe('signals', () => {
  test('keys of maps are text, whatever YAML makes of them', () => {
    const text = plant({
      signals: `      splice_step: { source: plc, address: i=3, values: { 10: idle, 0x14: slowing, -1: fault } }
      active_spindle: { source: plc, address: i=4, bit: 3, values: { false: A, true: B } }
      material: { source: plc, address: i=5, values: { 1: 4711 } }
      splicer_auto: { source: plc, address: i=6, equals: [20, 'auto', true] }
`,
    })
    expect(signalOf(text, 'splice_step').values).toEqual({ '10': 'idle', '20': 'slowing', '-1': 'fault' })
    expect(signalOf(text, 'active_spindle')).toMatchObject({ bit: 3, values: { false: 'A', true: 'B' } })
    expect(signalOf(text, 'material').values).toEqual({ '1': '4711' })
    expect(signalOf(text, 'splicer_auto').equals).toEqual(['20', 'auto', 'true'])
  })

  test('1 and 0 name a bit as well as true and false', () => {
    const text = plant({
      signals: '      active_spindle: { source: plc, address: i=4, bit: 0, values: { 0: A, 1: B } }\n',
    })
    expect(signalOf(text, 'active_spindle').values).toEqual({ false: 'A', true: 'B' })
  })

  test('units become factors', () => {
    const text = plant({
      signals: `      tension: { source: plc, address: i=5, unit: lbf/in, scale: 0.1, offset: -2, range: [0, 20], period: 500 ms }
      spindle_speed: { source: plc, address: i=6, unit: rpm }
      splice_count: { source: plc, address: i=7 }
`,
    })
    // NIST SP 811 (2008) B.8, from memory: lbf/in to N/m 1.751268E+02.
    expect(signalOf(text, 'tension').toSi).toBeCloseTo(175.1268, 4)
    expect(signalOf(text, 'tension')).toMatchObject({
      unit: 'lbf/in',
      scale: 0.1,
      offset: -2,
      range: [0, 20],
      periodS: 0.5,
    })
    expect(signalOf(text, 'spindle_speed').toSi).toBe(1 / 60)
    expect(signalOf(text, 'splice_count')).toMatchObject({ unit: undefined, toSi: 1 })
  })

  test('extra signals in both ways of writing, with any unit', () => {
    const text = plant({
      signals: `      extra.vacuum: { source: plc, address: i=5, unit: kPa }
      extra: { web_temp: { source: plc, address: i=6, unit: °C }, gap: { source: plc, address: i=7, unit: mm } }
`,
    })
    const extras = unwindOf(text).signals.filter(({ signal }) => signal.startsWith('extra.'))
    expect(extras.map(({ signal, unit, toSi }) => [signal, unit, toSi])).toEqual([
      ['extra.vacuum', 'kPa', 1],
      ['extra.web_temp', '°C', 1],
      ['extra.gap', 'mm', 0.001],
    ])
  })

  test('the splice diameter may come from a tag alone, and is not needed where nothing triggers on it', () => {
    const byTag = plant({ signals: '      splice_diameter: { source: plc, address: i=5, unit: mm }\n' })
    expect(unwindOf(byTag.replace(', splice_diameter: 130 mm', '')).splicer.spliceDiameterM).toBeUndefined()
    const byHand = plant({ splicer: ', trigger: manual' }).replace(', splice_diameter: 130 mm', '')
    expect(unwindOf(byHand).splicer.spliceDiameterM).toBeUndefined()
  })

  test('one tag in two units, and a step without a map, are worth a warning', () => {
    const text = plant({
      buffer: 'full: { position: 100 %, stored: 30 m }',
      signals: `      nominal_caliper: { source: plc, address: i=2, unit: um }
      splice_step: { source: plc, address: i=3 }
`,
    })
    expect(load(text).warnings.map((warning) => warning.replace(/^.*?: /, ''))).toEqual([
      'unwinds.press.signals.nominal_caliper.unit: the same tag is in mm and um, here and at unwinds.press.signals.roll_diameter: one of them must be wrong.',
      "unwinds.press.signals.splice_step: has no values, so only the texts idle, filling, slowing, stopped, starting, refilling and fault mean anything: map the tag's values to them.",
    ])
  })
})

describe('the rest of the file', () => {
  test('preparation in parts, the splice speed, stations', () => {
    const { splicer } = unwindOf(
      plant({
        splicer:
          ', preparation: { fetch: 8 min, load: 3 min, splice_prep: 3 min }, splice_speed: 120 m/min, stations: [{ name: Oven, distance: 22 m }]',
      }),
    )
    expect(splicer.preparation).toEqual({ fetchS: 480, loadS: 180, splicePrepS: 180, totalS: 840 })
    expect(splicer.spliceSpeedMps).toBe(2)
    expect(splicer.stations).toEqual([{ name: 'Oven', distanceM: 22, confirmWithinM: undefined }])
  })

  test('a material keeps its number as it is written', () => {
    const { materials } = load(
      `${plant()}materials: { 0471: { price: 0.03 USD/ft }, '0815': { basis_weight: 64 g/m2, width: 1.3 m } }`,
    ).config
    expect(Object.keys(materials)).toEqual(['0471', '0815'])
    expect(materials['0471']?.price).toEqual({ perM: 0.03 / 0.3048, currency: 'USD' })
    expect(materials['0815']).toMatchObject({ basisWeightKgPerM2: 0.064, widthM: 1.3 })
  })

  test('relative paths start at the config file', () => {
    const text = plant()
      .replace('mqtt://127.0.0.1:1883', 'mqtts://127.0.0.1:8883')
      .replace(
        "8883' }",
        "8883', ca_file: ca.pem, user: { name: monitor, password_file: ../secret }, will: { topic: a } }",
      )
    expect(load(text).config.sources['hall']).toMatchObject({
      caFile: '/plants/alder/ca.pem',
      user: { name: 'monitor', password: { file: '/plants/secret' } },
      will: { topic: 'a', offline: 'offline' },
    })
  })

  test.each([
    ['0.0.0.0:80', { host: '0.0.0.0', port: 80, withoutSignIn: 'nothing' }],
    ['0.0.0.0:80, without_sign_in: look', { withoutSignIn: 'look' }],
    ["'[::1]:8420'", { host: '::1', port: 8420, withoutSignIn: 'look', idleLockS: 900, tls: undefined }],
    ['localhost:1, without_sign_in: operate', { host: 'localhost', port: 1, withoutSignIn: 'operate' }],
    ["'[::]:8420', tls: {}", { host: '::', port: 8420, tls: 'self_made' }],
    [
      'localhost:1, tls: { certificate: web.pem, key: ../web.key }',
      { tls: { certificateFile: '/plants/alder/web.pem', keyFile: '/plants/web.key' } },
    ],
    ['localhost:1, trusted_proxies: [10.1.2.0/24, "::1"]', { trustedProxies: ['10.1.2.0/24', '::1'] }],
  ])('listen: %s', (listen, web) => {
    expect(load(`${plant()}web: { listen: ${listen} }`).config.web).toMatchObject(web)
  })

  test('the database of the older write path has a user', () => {
    const { database } = load(
      `${plant()}database: { url: 'http://127.0.0.1:8086', dialect: v1, bucket: unwinds, user: { name: monitor, password_env: PW } }`,
    ).config
    expect(database).toEqual({
      url: 'http://127.0.0.1:8086',
      dialect: 'v1',
      org: 'lastwrap',
      bucket: 'unwinds',
      token: undefined,
      user: { name: 'monitor', password: { env: 'PW' } },
    })
  })

  test('the inside of a core is suspected', () => {
    const { warnings } = load(plant().replace('core_diameter: 100 mm', 'core_diameter: 3 in'))
    expect(warnings.join()).toContain('8:28: unwinds.press.roll.core_diameter: is the inside diameter of a common core')
  })

  test('an alias stands for what it names', () => {
    const text = plant({
      signals: `      new_roll_ready: &ready { source: plc, address: i=3 }
      splicer_auto: *ready
`,
    })
    expect(signalOf(text, 'splicer_auto').tag).toEqual(signalOf(text, 'new_roll_ready').tag)
  })
})

describe('files', () => {
  const directory = mkdtempSync(join(tmpdir(), 'lastwrap-config-'))
  afterAll(() => rmSync(directory, { recursive: true }))
  const failure = (path: string): LastwrapError => {
    try {
      loadConfigFile(path)
    } catch (error) {
      if (error instanceof LastwrapError) return error
      throw error
    }
    throw new Error('it was loaded')
  }
  const fileOf = (name: string, bytes: string | Uint8Array): string => {
    const path = join(directory, name)
    writeFileSync(path, bytes)
    return path
  }

  test('no file, a directory, no text, too large', () => {
    const binary = fileOf('binary.yaml', new Uint8Array([0xff, 0xfe, 0x00]))
    const huge = fileOf('huge.yaml', ' '.repeat(1_000_001))
    expect(failure(join(directory, 'none.yaml')).message).toBe(
      `There is no file ${join(directory, 'none.yaml')}: give the path of the config with --config.`,
    )
    expect(failure(directory).message).toBe(`${directory} is a directory: give the path of the config file in it.`)
    expect(failure(binary).message).toBe(`The config ${binary} is not UTF-8 text: save it as UTF-8.`)
    expect(failure(huge).message).toBe(`${huge} is larger than 1 MB, which no config is: give the right file.`)
    expect(failure(huge).exitStatus).toBe(2)
  })

  test('a byte order mark and Windows line ends are no fault', () => {
    const path = fileOf('windows.yaml', `\ufeff${plant().replaceAll('\n', '\r\n')}`)
    expect(loadConfigFile(path).config.unwinds).toHaveLength(1)
  })

  test('the message counts the faults', () => {
    const path = fileOf('faulty.yaml', plant().replace('130 mm', '130').replace('80 um', '80'))
    const error = failure(path)
    expect(error.message).toBe(`The config ${path} has 2 faults: correct what is listed and try again.`)
    expect([error.code, error.exitStatus, error.faults.length]).toEqual(['config_invalid', 2, 2])
  })

  test('the shipped configs load without a warning', () => {
    for (const name of ['minimal.yaml', 'example.yaml']) {
      const path = join(import.meta.dirname, '../../config', name)
      expect(loadConfigFile(path).warnings, name).toEqual([])
    }
  })

  test('what the example shows in comments works too', () => {
    const path = join(import.meta.dirname, '../../config/example.yaml')
    const lines = readFileSync(path, 'utf8').split('\n')
    // Commented keys and sections: "  # key: …" at any depth, but no prose.
    const text = lines.map((line) => line.replace(/^(\s+)# (\s*(?:'\d+'|[a-z_]+): ?.*)$/, '$1$2')).join('\n')
    const { config, warnings } = loadConfigText(text, path)
    expect(config.unwinds.map(({ id }) => id)).toEqual(['label_press', 'laminator'])
    expect(config.sources['yard_broker']).toMatchObject({ url: 'mqtts://broker.alder-quay.example:8883' })
    expect(Object.keys(config.materials)).toEqual(['4711', '0815', '0816'])
    expect(config.web).toMatchObject({
      tls: { certificateFile: '/etc/lastwrap/web.pem', keyFile: '/etc/lastwrap/web.key' },
      basePath: '/lastwrap',
      allowedHosts: ['plant.example'],
      trustedProxies: ['127.0.0.1'],
    })
    expect(config.unwinds[1]?.buffer?.runningStoredM).toBeCloseTo(0.85 * 96 * 0.3048, 8)
    expect(warnings.map((warning) => warning.replace(/^.*?: /, ''))).toEqual([
      'sources.yard_broker: no signal uses it: map one, or delete the source.',
    ])
  })
})
