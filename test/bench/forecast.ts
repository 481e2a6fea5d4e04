/**
 * `npm run bench:forecast [-- --seeds 20 --only label --drawn 0 --plot bench-out --json FILE]`: the countdown against the statistical
 * bound (bound.ts), its interval against the truth, and both ways by hand (naive.ts), per scenario and horizon. `--drawn 30` takes as
 * many machines drawn at random instead of those of the list.
 */
import { mkdirSync, writeFileSync } from 'node:fs'
import { availableParallelism } from 'node:os'
import { join } from 'node:path'
import { parseArgs } from 'node:util'
import { plotErrors } from './plot.ts'
import { inThreads } from './pool.ts'
import { HORIZONS_S, type Look, type Reference, type Taught, TEACHERS } from './run-case.ts'
import { BENCH_SCENARIOS, drawnBenchScenarios } from './scenarios.ts'
import { known, mean, percentile, rms, share } from './statistics.ts'
import type { BenchAnswer, BenchJob } from './worker.ts'

const { values: options } = parseArgs({
  options: {
    seeds: { type: 'string', default: '20' },
    only: { type: 'string', default: '' },
    drawn: { type: 'string', default: '0' },
    threads: { type: 'string', default: String(Math.min(8, availableParallelism())) },
    plot: { type: 'string', default: 'bench-out' },
    json: { type: 'string' },
  },
})
const seeds = Number(options.seeds)
const threads = Number(options.threads)
const scenarios = Number(options.drawn) > 0 ? drawnBenchScenarios(Number(options.drawn)) : BENCH_SCENARIOS
const chosen = scenarios.flatMap(({ name }, index) => (name.includes(options.only) ? [index] : []))
const progress = (text: string): void => {
  if (process.stderr.isTTY) process.stderr.write(`\r\x1b[K${text}`)
}

const worker = new URL('./worker.ts', import.meta.url)
const references = new Map<number, Reference>()
const taught = new Map<string, Taught>()
const looks: Look[] = []
const failures: string[] = []
const began = performance.now()
const run = async (title: string, jobs: readonly BenchJob[], take: (answer: BenchAnswer) => void): Promise<void> => {
  const fromS = performance.now() / 1000
  let done = 0
  await inThreads<BenchJob, BenchAnswer>(worker, threads, jobs, (answer) => {
    looks.push(...answer.looks)
    if (answer.failed !== undefined) failures.push(answer.failed)
    take(answer)
    done += 1
    const leftS = ((performance.now() / 1000 - fromS) / done) * (jobs.length - done)
    progress(`${title}: ${done} of ${jobs.length}, ${Math.round(leftS)} s to go`)
  })
}
const counted = (n: number): number[] => Array.from({ length: n }, (_, i) => i + 1)
await run(
  'bounds',
  chosen.map((scenario) => ({ scenario, bench: scenarios[scenario]!, work: { bound: true } })),
  ({ scenario, reference }) => {
    if (reference !== undefined) references.set(scenario, reference)
  },
)
if (failures.length > 0) throw new Error(failures[0])
const teachers = Math.min(TEACHERS, seeds)
await run(
  'ten short rolls that teach',
  counted(teachers).flatMap((teacher) =>
    chosen.map((scenario) => ({
      scenario,
      bench: scenarios[scenario]!,
      work: { teacher, reference: references.get(scenario)! },
    })),
  ),
  (answer) => {
    if (answer.taught !== undefined) taught.set(`${answer.scenario} ${answer.teacher}`, answer.taught)
  },
)
if (failures.length > 0) throw new Error(failures[0])
const judged = counted(seeds).flatMap((seed) =>
  chosen.map((scenario): BenchJob => {
    const left = taught.get(`${scenario} ${1 + (seed % teachers)}`)!
    return { scenario, bench: scenarios[scenario]!, work: { seed, reference: references.get(scenario)!, taught: left } }
  }),
)
await run('rolls that are judged', judged, () => undefined)
progress('')

const cell = (value: number, decimals: number, width: number): string =>
  (Number.isFinite(value) ? value.toFixed(decimals) : '–').padStart(width)
const nameOf = (horizonS: number): string => (horizonS >= 60 ? `${horizonS / 60} min` : `${horizonS} s`)
const least = (scenario: number, horizonS: number): number =>
  Math.hypot(references.get(scenario)!.bM[horizonS] ?? Number.NaN, references.get(scenario)!.trigger.sdM)
const heads = HORIZONS_S.map((s) => nameOf(s).padStart(9).padEnd(16)).join('|')
const rule = (title: string, columns: string): void => {
  console.log(`\n${title.padEnd(34)}|${heads}`)
  console.log(`${''.padEnd(34)}|${HORIZONS_S.map(() => columns.padEnd(16)).join('|')}`)
}
const row = (name: string, of: (horizonS: number) => string): void =>
  console.log(`${name.padEnd(34)}|${HORIZONS_S.map((horizonS) => of(horizonS).padEnd(16)).join('|')}`)
const ratios = (some: readonly Look[]): number[] =>
  some.flatMap((look) => (look.metres === undefined ? [] : [look.metres / least(look.scenario, look.horizonS)]))
/** Error ÷ bound as RMS and as mean (the part that is a bias), and how many of the truths the interval held, %. */
const summary = (some: readonly Look[]): string =>
  some.length === 0
    ? ''
    : `${cell(rms(ratios(some)), 2, 5)} ${cell(mean(ratios(some)), 1, 4)} ${cell(100 * share(some.map((one) => one.isMetresInside)), 0, 4)}`
const substrates = [...new Set(chosen.map((index) => scenarios[index]!.substrate))]

rule('from the 11th splice on', '  ÷B  bias  in%')
for (const index of chosen)
  row(scenarios[index]!.name, (h) =>
    summary(looks.filter((one) => one.isJudged && one.scenario === index && one.horizonS === h)),
  )
for (const substrate of substrates)
  row(`all ${substrate}`, (h) =>
    summary(
      looks.filter((one) => one.isJudged && scenarios[one.scenario]!.substrate === substrate && one.horizonS === h),
    ),
  )
row('all', (h) => summary(looks.filter((one) => one.isJudged && one.horizonS === h)))

rule('80 % interval on all rolls', '  m%   s%     n')
const covered = (some: readonly Look[]): string =>
  some.length === 0
    ? ''
    : `${cell(100 * share(some.map((one) => one.isMetresInside)), 0, 4)} ${cell(100 * share(some.map((one) => one.isSecondsInside)), 0, 4)} ${String(some.length).padStart(5)}`
const isOf = (substrate: string) => (one: Look) => scenarios[one.scenario]!.substrate === substrate
for (const substrate of substrates)
  row(substrate, (h) => covered(looks.filter((one) => one.horizonS === h && isOf(substrate)(one))))
row('first roll of a splicer', (h) => covered(looks.filter((one) => one.horizonS === h && one.roll === 0)))
row('second to tenth', (h) => covered(looks.filter((one) => one.horizonS === h && one.roll > 0 && one.roll < 10)))
row('from the eleventh on', (h) => covered(looks.filter((one) => one.horizonS === h && one.roll >= 10)))
row('all', (h) => covered(looks.filter((one) => one.horizonS === h)))

/** `÷B`: how much worse the label's formula is than B itself; where it is below a limit, no countdown by one roll alone can meet it. */
rule('naive ÷ ours, no trigger scatter', 'label  line    ÷B')
const timesWorse = (some: readonly Look[]): string => {
  const both = some.filter((one) => one.plainMetres !== undefined && one.nominalMetres !== undefined)
  const ours = rms(both.map((one) => one.plainMetres! / one.speedMps))
  const nominal = rms(both.map((one) => one.nominalMetres! / one.speedMps))
  const straight = rms(
    known(both.map((one) => (one.lineMetres === undefined ? undefined : one.lineMetres / one.speedMps))),
  )
  const bound = rms(both.map((one) => references.get(one.scenario)!.bM[one.horizonS]! / one.speedMps))
  return both.length === 0
    ? ''
    : `${cell(nominal / ours, 1, 5)} ${cell(straight / ours, 1, 5)} ${cell(nominal / bound, 1, 5)}`
}
for (const index of chosen)
  row(scenarios[index]!.name, (h) =>
    timesWorse(looks.filter((one) => one.isJudged && one.scenario === index && one.horizonS === h)),
  )
row('all', (h) => timesWorse(looks.filter((one) => one.isJudged && one.horizonS === h)))

rule('seconds, from the 11th splice on', '  med   P95   rms')
const secondsOf = (h: number): number[] =>
  known(looks.filter((one) => one.isJudged && one.horizonS === h).map((one) => one.seconds))
row(
  'all',
  (h) =>
    `${cell(percentile(secondsOf(h), 0.5), 2, 5)} ${cell(percentile(secondsOf(h), 0.95), 2, 5)} ${cell(rms(secondsOf(h)), 2, 5)}`,
)
const scenarioRms = (h: number): number[] =>
  chosen.flatMap((index) => {
    const some = looks.filter((one) => one.isJudged && one.scenario === index && one.horizonS === h)
    const inS = known(some.map((one) => (one.metres === undefined ? undefined : one.metres / one.speedMps)))
    return inS.length === 0 ? [] : [rms(inS)]
  })
row(
  'RMS per scenario, metres as s',
  (h) => `${cell(percentile(scenarioRms(h), 0.5), 2, 5)} ${cell(percentile(scenarioRms(h), 0.95), 2, 5)}`,
)

console.log(
  `\n${looks.length} looks of ${chosen.length} scenarios, ${seeds} seeds each after ${teachers} that taught, in ${((performance.now() - began) / 1000).toFixed(0)} s on ${threads} threads`,
)
mkdirSync(options.plot, { recursive: true })
const plotFile = join(options.plot, 'error-by-horizon.svg')
writeFileSync(
  plotFile,
  plotErrors(
    HORIZONS_S.flatMap((horizonS) => {
      const some = looks.filter((one) => one.isJudged && one.horizonS === horizonS && one.metres !== undefined)
      if (some.length === 0) return []
      const inS = (metres: (look: Look) => number | undefined): number =>
        rms(
          known(
            some.map((one) => {
              const m = metres(one)
              return m === undefined ? undefined : m / one.speedMps
            }),
          ),
        )
      return [
        {
          horizonS,
          errorS: inS((one) => one.metres),
          boundS: inS((one) => least(one.scenario, horizonS)),
          nominalS: inS((one) => one.nominalMetres),
          lineS: inS((one) => one.lineMetres),
        },
      ]
    }),
  ),
)
console.log(`plot: ${plotFile}`)
if (options.json !== undefined)
  writeFileSync(options.json, JSON.stringify({ references: Object.fromEntries(references), looks }))
for (const failure of failures) console.error(failure)
if (failures.length > 0) process.exitCode = 1
