/**
 * `node test/bench/splices.ts [seeds] [name]`: recognition of splices over many seeds: lost, invented, wrong outcome, wrong
 * cause, start off by more than 0.5 s, stop off by more than 10 % or two sample periods. Each miss is printed with its seed.
 */
import { judgeSplices } from '../pipeline/judge.ts'
import { replaySimulation } from '../pipeline/replay-simulation.ts'
import { simulate } from '../truth/line-simulator.ts'
import { ALL, REQUIRED, type Scenario, type SpliceEvent, SUBSTRATES, USUAL } from '../truth/scenario.ts'

const seeds = Number(process.argv[2] ?? 3)
const only = process.argv[3]
const EVENTS: SpliceEvent[] = [
  { roll: 1, kind: 'no_new_roll' },
  { roll: 2, kind: 'web_break' },
  { roll: 3, kind: 'slow_stop' },
  { roll: 4, kind: 'ran_out' },
  { roll: 5, kind: 'cycle_too_slow' },
  { roll: 6, kind: 'manual_early' },
  { roll: 7, kind: 'buffer_empty' },
]
const MIXED: Partial<Scenario> = {
  rollS: 150,
  preparationS: 50,
  repairS: 60,
  durationS: 1900,
  spareM: 6,
  events: EVENTS,
}
const MACHINES: Readonly<Record<string, Partial<Scenario>>> = {
  ...SUBSTRATES,
  'rides full': { bufferMode: 'rides_full', overspeed: 0.2 },
  braked: { unwindDrive: 'braked' },
  'slow-down': { spliceSpeedMpm: 150 },
  'on change': { onChange: true },
  'every 200 ms': { periodMs: 200 },
  'every 500 ms': { periodMs: 500 },
  'noise 5 mm': { noiseMm: 5 },
  disordered: { disorderMs: 5000, duplicateShare: 0.03 },
  indexing: { speedMpm: 60, caliperUm: 300, spliceMm: 160, overspeed: 0.25, indexing: { moveMs: 530, restMs: 383 } },
  'indexing fast': { speedMpm: 90, overspeed: 0.25, indexing: { moveMs: 147, restMs: 110 } },
  flying: { method: 'flying' },
  stopped: { method: 'stopped', joinS: 25 },
}
const MAPPED = { required: REQUIRED, usual: USUAL, all: ALL }

const totals = { truths: 0, lost: 0, invented: 0, outcome: 0, cause: 0, start: 0, stop: 0 }
console.log(
  `${'scenario'.padEnd(28)}${Object.keys(totals)
    .map((name) => name.padStart(9))
    .join('')}`,
)
const misses: string[] = []
let index = 0
for (const [machine, figures] of Object.entries(MACHINES)) {
  for (const [mapped, signals] of Object.entries(MAPPED)) {
    const name = `${machine}, ${mapped}`
    index++
    if (only !== undefined && !name.includes(only)) continue
    const count = { truths: 0, lost: 0, invented: 0, outcome: 0, cause: 0, start: 0, stop: 0 }
    for (let seed = 1; seed <= seeds; seed++) {
      // Without a buffer its events do not exist; where every joint is made at a stop, a late one is a
      // joint all the same, and an early one can't be told from a roll changed on a planned stop.
      const none =
        figures.method === undefined ? /^$/ : figures.method === 'flying' ? /slow|empty/ : /slow|empty|no_new|manual/
      const events = EVENTS.filter(({ kind }) => !none.test(kind))
      const run = simulate({ ...MIXED, ...figures, signals, seed: 1000 * index + seed, events })
      const miss = (kind: keyof typeof count, text: string): void => {
        count[kind]++
        misses.push(`${kind.padEnd(9)} ${name}, seed ${1000 * index + seed}: ${text}`)
      }
      const verdict = judgeSplices(run, replaySimulation(run).splices)
      count.truths += verdict.pairs.length + verdict.lost.length
      for (const one of verdict.lost)
        miss('lost', `${new Date(one.startedTMs).toISOString()} ${one.outcome} ${one.cause}`)
      for (const one of verdict.invented) miss('invented', `${one.started} ${one.outcome} ${one.cause}`)
      for (const { truth, said } of verdict.pairs) {
        const where = `${said.started} ${truth.outcome} ${truth.cause ?? ''}`
        if (said.outcome !== truth.outcome) miss('outcome', `${where} said ${said.outcome} ${said.cause}`)
        else {
          const byRule = truth.cause === 'no_new_roll' && mapped === 'required' ? 'ran_out' : (truth.cause ?? null)
          if (said.cause !== byRule) miss('cause', `${where} said ${said.cause}`)
        }
        if (truth.outcome === 'missed') continue
        const startS = (Date.parse(said.started) - truth.startedTMs) / 1000
        if (Math.abs(startS) > 0.5) miss('start', `${where} off by ${startS.toFixed(2)} s`)
        if (truth.outcome !== 'good' || run.scenario.method === 'flying') continue
        const stopS = (said.stopped_seconds ?? Number.NaN) - truth.stoppedSeconds
        const allowed = Math.max(0.1 * truth.stoppedSeconds, (2 * run.scenario.periodMs) / 1000)
        if (!(Math.abs(stopS) <= allowed))
          miss('stop', `${where} ${said.stopped_seconds?.toFixed(2)} for ${truth.stoppedSeconds.toFixed(2)}`)
      }
    }
    for (const key of Object.keys(totals) as (keyof typeof totals)[]) totals[key] += count[key]
    console.log(
      `${name.padEnd(28)}${Object.values(count)
        .map((n) => String(n).padStart(9))
        .join('')}`,
    )
  }
}
console.log(
  `${'all'.padEnd(28)}${Object.values(totals)
    .map((n) => String(n).padStart(9))
    .join('')}`,
)
for (const line of misses.slice(0, 60)) console.log(line)
if (misses.length > 60) console.log(`and ${misses.length - 60} more`)
