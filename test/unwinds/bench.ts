/**
 * Two unwinds on two sources, fed by hand: time stands still between two calls, so a test says exactly what came when.
 * Both run steadily, at 300 m/min from a roll of 80 µm web.
 */

import type { SpliceView } from '../../edge/api/messages.ts'
import type { AlarmRow } from '../../edge/columns.ts'
import { loadConfigText } from '../../edge/config/load.ts'
import { createMessages } from '../../edge/messages/message.ts'
import type { RawValue, Sample } from '../../edge/sample.ts'
import type { LogEntry } from '../../edge/trend-views.ts'
import { Unwinds } from '../../edge/unwinds.ts'

export const START_TMS = Date.UTC(2026, 2, 2, 6)
const STEP_MS = 100
const LINE_MPS = 5
const CALIPER_M = 80e-6
const FIRST_DIAMETER_M = 0.4

const unwind = (id: string, source: string, more: readonly string[] = []): string[] => [
  `  ${id}:`,
  `    name: ${id}`,
  '    roll: { core_diameter: 100 mm, nominal_caliper: 80 um }',
  '    splicer: { method: zero_speed, splice_diameter: 130 mm, preparation: 4 min }',
  '    buffer:',
  '      empty: { position: 0 %, stored: 0 m }',
  '      full: { position: 100 %, stored: 30 m }',
  '      running_position: 25 %',
  '    signals:',
  `      line_speed: { source: ${source}, address: ${id}/speed, unit: m/min, range: [0, 500] }`,
  `      roll_diameter: { source: ${source}, address: ${id}/diameter, unit: mm, range: [50, 1600] }`,
  `      buffer_position: { source: ${source}, address: ${id}/festoon, unit: "%" }`,
  ...more.map((line) => `      ${line}`),
]

export const configText = (pressMore: readonly string[] = [], coaterMore: readonly string[] = []): string =>
  [
    'version: 1',
    'site: { name: Alder Quay Works, time_zone: UTC }',
    'sources:',
    '  press_gateway: { kind: mqtt, url: "mqtt://127.0.0.1:1884", stale_after: 10 s }',
    '  hall_broker: { kind: mqtt, url: "mqtt://127.0.0.1:1883", stale_after: 10 s }',
    'unwinds:',
    ...unwind('press', 'press_gateway', [
      'new_roll_ready: { source: press_gateway, address: press/ready }',
      'nominal_caliper: { source: press_gateway, address: press/caliper, unit: um }',
      ...pressMore,
    ]),
    ...unwind('coater', 'hall_broker', coaterMore),
    '',
  ].join('\n')

export const configOf = (text: string) => loadConfigText(text, 'bench.yaml').config

export class Bench {
  readonly unwinds: Unwinds
  readonly alarms: AlarmRow[] = []
  readonly splices: SpliceView[] = []
  readonly faults: string[] = []
  readonly ignored: string[] = []
  readonly log: LogEntry[] = []
  tMs = START_TMS
  /** Sources that say nothing at all. */
  readonly silent = new Set<string>()

  constructor(text = configText()) {
    const config = configOf(text)
    this.unwinds = new Unwinds(config, createMessages(config.site.language, { strict: true }), {
      splice: (splice) => this.splices.push(splice),
      alarm: (row) => this.alarms.push(row),
      log: (entry) => this.log.push(entry),
      fault: (id, reason) => this.faults.push(`${id}: ${reason}`),
      ignored: (id, signal, sample) => this.ignored.push(`${id}.${signal}=${String(sample.value)}`),
    })
  }

  say(source: string, address: string, value: RawValue | undefined, more: Partial<Sample> = {}): void {
    this.unwinds.accept({ source, address, value, quality: 'good', tMs: this.tMs, arrivalTMs: this.tMs, ...more })
  }

  /** Once: what a PLC says at the start and then holds. */
  begin(): this {
    this.say('press_gateway', 'press/ready', true)
    this.say('press_gateway', 'press/caliper', 80)
    return this
  }

  /** Everything runs on as usual for so long. */
  run(seconds: number, more: () => void = () => undefined): this {
    for (let n = 0; n < (seconds * 1000) / STEP_MS; n += 1) {
      this.tMs += STEP_MS
      const takenM = (LINE_MPS * (this.tMs - START_TMS)) / 1000
      // A = A0 − t·s, the area of what is left on the roll.
      const diameterM = Math.sqrt(FIRST_DIAMETER_M ** 2 - (4 * CALIPER_M * takenM) / Math.PI)
      for (const [source, id] of [
        ['press_gateway', 'press'],
        ['hall_broker', 'coater'],
      ] as const) {
        if (this.silent.has(source)) continue
        this.say(source, `${id}/speed`, LINE_MPS * 60)
        this.say(source, `${id}/diameter`, Math.round(diameterM * 1e4) / 10)
        this.say(source, `${id}/festoon`, 25)
      }
      more()
      this.unwinds.step(this.tMs)
    }
    return this
  }

  view(id: string) {
    const view = this.unwinds.views(this.tMs).find((each) => each.unwind === id)
    if (view === undefined) throw new Error(`there is no unwind ${id}`)
    return view
  }

  events(alarm: string, id = 'press'): string[] {
    return this.alarms.filter((row) => row.alarm === alarm && row.unwind === id).map(({ event }) => event)
  }
}
