/**
 * `npm run bench:splices [-- --seeds 7 --only flying --drawn 0]`: recognition of splices over many seeds: lost, invented, wrong
 * outcome, wrong cause, start off by more than 0.5 s, stop off by more than 10 % or two sample periods. Each miss is printed
 * with its seed. `--drawn 60` takes as many machines drawn at random instead of those of the list.
 */
import { availableParallelism } from 'node:os'
import { parseArgs } from 'node:util'
import { inThreads } from './pool.ts'
import { MISSES, type Recognised } from './run-splices.ts'
import { drawnSpliceMachines, SPLICE_MACHINES } from './splice-machines.ts'
import type { SplicesAnswer, SplicesJob } from './splices-worker.ts'

const { values: options } = parseArgs({
  options: {
    seeds: { type: 'string', default: '7' },
    only: { type: 'string', default: '' },
    drawn: { type: 'string', default: '0' },
    threads: { type: 'string', default: String(Math.min(8, availableParallelism())) },
  },
})
const seeds = Number(options.seeds)
const all = Number(options.drawn) > 0 ? drawnSpliceMachines(Number(options.drawn)) : SPLICE_MACHINES
const jobs = all.flatMap((machine, index): SplicesJob[] =>
  machine.name.includes(options.only)
    ? Array.from({ length: seeds }, (_, i) => ({ machine, seed: 1000 * (index + 1) + i + 1 }))
    : [],
)
const progress = (text: string): void => {
  if (process.stderr.isTTY) process.stderr.write(`\r\x1b[K${text}`)
}

const byMachine = new Map<string, Recognised[]>()
const failures: string[] = []
let done = 0
const began = performance.now()
await inThreads<SplicesJob, SplicesAnswer>(
  new URL('./splices-worker.ts', import.meta.url),
  Number(options.threads),
  jobs,
  (answer) => {
    if (answer.failed !== undefined) failures.push(answer.failed)
    if (answer.recognised !== undefined)
      byMachine.set(answer.machine, [...(byMachine.get(answer.machine) ?? []), answer.recognised])
    done += 1
    const leftS = ((performance.now() - began) / 1000 / done) * (jobs.length - done)
    progress(`${done} of ${jobs.length} runs, ${Math.round(leftS)} s to go`)
  },
)
progress('')

const counted = (some: readonly Recognised[]): number[] => [
  some.reduce((sum, { splices }) => sum + splices, 0),
  ...MISSES.map((kind) => some.reduce((sum, { misses }) => sum + misses.filter((one) => one.kind === kind).length, 0)),
]
const row = (name: string, cells: readonly (string | number)[]): void =>
  console.log(name.padEnd(46) + cells.map((cell) => String(cell).padStart(9)).join(''))
row('machine', ['splices', ...MISSES])
for (const [name, some] of byMachine) row(name, counted(some))
const every = [...byMachine.values()].flat()
row('all', counted(every))
const [bad, badTold] = [every.reduce((sum, one) => sum + one.bad, 0), every.reduce((sum, one) => sum + one.badTold, 0)]
console.log(
  `${badTold} of ${bad} failed and missed ones told as such; ${jobs.length} runs in ${((performance.now() - began) / 1000).toFixed(0)} s`,
)
const lines = every.flatMap(({ misses }) => misses.map(({ kind, text }) => `${kind.padEnd(9)} ${text}`))
for (const line of lines.slice(0, 80)) console.log(line)
if (lines.length > 80) console.log(`and ${lines.length - 80} more`)
for (const failure of failures) console.error(failure)
if (failures.length > 0) process.exitCode = 1
