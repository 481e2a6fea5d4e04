/**
 * Writes the configs and recordings of the cases that the truth generator makes. Run by hand when a case is added or
 * changed: `node test/recordings/build-recordings.ts [case …]`, then `npm run golden:update` and review the difference.
 */
import { mkdirSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { gzipSync } from 'node:zlib'
import { simulate } from '../truth/line-simulator.ts'
import { ALL, REQUIRED, type Scenario, SUBSTRATES, USUAL } from '../truth/scenario.ts'

/** Short rolls and slow sampling keep the files small. */
const SHORT: Partial<Scenario> = {
  rollS: 90,
  firstRoll: 0.8,
  preparationS: 30,
  repairS: 25,
  periodMs: 200,
  onChange: true,
  durationS: 190,
}

const CASES: Readonly<Record<string, Partial<Scenario>>> = {
  'good-required-only': { ...SHORT, signals: REQUIRED },
  'good-film-all-signals': { ...SHORT, ...SUBSTRATES.film, signals: ALL, periodMs: 500, rollS: 120 },
  'missed-no-new-roll': { ...SHORT, signals: USUAL, spareM: 6, events: [{ roll: 0, kind: 'no_new_roll' }] },
  'missed-ran-out-required-only': { ...SHORT, signals: REQUIRED, spareM: 6, events: [{ roll: 0, kind: 'ran_out' }] },
  'failed-web-break': {
    ...SHORT,
    signals: [...USUAL, 'web_break', 'tension', 'tension_setpoint'],
    spareM: 6,
    events: [{ roll: 0, kind: 'web_break' }],
  },
  'failed-cycle-too-slow': { ...SHORT, signals: USUAL, events: [{ roll: 0, kind: 'cycle_too_slow' }] },
  'aborted-then-good': {
    ...SHORT,
    signals: [...USUAL, 'splice_fault', 'splice_step'],
    speedMpm: 180,
    spliceMm: 160,
    events: [{ roll: 0, kind: 'aborted' }],
  },
  'stops-and-a-hand-change': {
    ...SHORT,
    signals: REQUIRED,
    firstRoll: 1,
    durationS: 175,
    schedule: [
      { atS: 20, speedMpm: 0 },
      { atS: 55, speedMpm: 20 },
      { atS: 70, speedMpm: 300 },
      { atS: 110, speedMpm: 0 },
      { atS: 145, speedMpm: 300 },
    ],
    handChangesS: [138],
  },
  'by-spindle-disordered': {
    ...SHORT,
    bySpindle: true,
    festoonOverMqtt: true,
    disorderMs: 3000,
    duplicateShare: 0.02,
    disturbances: [
      { kind: 'bad', fromS: 20, toS: 24 },
      { kind: 'arm', fromS: 34, toS: 36 },
      { kind: 'gap', fromS: 110, toS: 128 },
    ],
  },
  'flying-once-a-second': { ...SHORT, method: 'flying', periodMs: 1000, signals: USUAL },
}

const wanted = process.argv.slice(2)
for (const [name, scenario] of Object.entries(CASES)) {
  if (wanted.length > 0 && !wanted.includes(name)) continue
  const run = simulate(scenario)
  const folder = join(import.meta.dirname, name)
  mkdirSync(folder, { recursive: true })
  writeFileSync(join(folder, 'config.yaml'), run.config)
  writeFileSync(join(folder, 'recording.csv.gz'), gzipSync(run.csv('ms'), { level: 9 }))
  const splices = run.splices.map((one) => `${new Date(one.startedTMs).toISOString()} ${one.outcome} ${one.cause ?? ''}`)
  console.log(`${name}: ${run.rows.length} rows; ${splices.join('; ') || 'no splice'}`)
}
