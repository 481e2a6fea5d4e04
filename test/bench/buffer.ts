/**
 * `npm run bench:buffer [-- --seeds 4 --only label --threads 2]`: what a splice takes from the buffer, the highest speed for
 * it, and the alarms of fills, against the truth generator; per machine. Bounds by the project's own criteria: `needed` RMS
 * ≤ √(5 %² + chance²) from the 11th splice on, ≤ 15 % before; highest speed within 3 %; a fill that cannot be complete told
 * within 5 s of becoming impossible and within 20 % of its usual length after it should have begun; no alarm in a good fill.
 */
import { availableParallelism } from 'node:os'
import { parseArgs } from 'node:util'
import { BUFFER_SCENARIOS } from './buffer-scenarios.ts'
import type { BufferAnswer, BufferJob } from './buffer-worker.ts'
import { inThreads } from './pool.ts'
import { type FillLook, LEARNED_AFTER, type NeedLook } from './run-buffer.ts'
import { known, mean, percentile, rms } from './statistics.ts'

const { values: options } = parseArgs({
  options: {
    seeds: { type: 'string', default: '4' },
    only: { type: 'string', default: '' },
    threads: { type: 'string', default: String(Math.min(8, availableParallelism())) },
  },
})
const chosen = BUFFER_SCENARIOS.flatMap(({ name }, index) => (name.includes(options.only) ? [index] : []))
const isFilled = (index: number): boolean => BUFFER_SCENARIOS[index]!.given.bufferMode !== 'rides_full'
const jobs = Array.from({ length: Number(options.seeds) }, (_, i) => i + 1).flatMap((seed) =>
  // Every other seed has fills that go wrong.
  chosen.map((scenario): BufferJob => ({ scenario, seed, hasFaults: seed % 2 === 0 && isFilled(scenario) })),
)
const progress = (text: string): void => {
  if (process.stderr.isTTY) process.stderr.write(`\r\x1b[K${text}`)
}
const began = performance.now()
const answers: BufferAnswer[] = []
await inThreads<BufferJob, BufferAnswer>(
  new URL('./buffer-worker.ts', import.meta.url),
  Number(options.threads),
  jobs,
  (answer) => {
    answers.push(answer)
    progress(`${answers.length} of ${jobs.length} runs`)
  },
)
progress('')

const percent = (value: number, width: number): string =>
  (Number.isFinite(value) ? (100 * value).toFixed(1) : '–').padStart(width)
const seconds = (value: number, width: number): string =>
  (Number.isFinite(value) ? value.toFixed(1) : '–').padStart(width)

const misses: string[] = []
function needRow(name: string, looks: readonly NeedLook[], isMisled: boolean): string {
  const learned = looks.filter((look) => look.isLearned)
  const before = looks.filter((look) => !look.isLearned)
  const errors = known(learned.map((look) => look.needed))
  const bound = Math.hypot(0.05, rms(learned.map((look) => look.chance)))
  const early = rms(known(before.map((look) => look.needed)))
  const speeds = known(learned.map((look) => look.highestSpeed))
  const fault = [
    rms(errors) > bound ? 'needed' : '',
    !isMisled && early > 0.15 ? 'needed before' : '',
    rms(speeds) > 0.03 ? 'speed' : '',
  ].filter((one) => one !== '')
  if (fault.length > 0) misses.push(`${name}: ${fault.join(', ')}`)
  return [
    percent(rms(errors), 7),
    percent(mean(errors), 6),
    percent(bound, 6),
    percent(early, 8),
    percent(rms(speeds), 8),
    percent(percentile(speeds, 0.95), 6),
    String(learned.length).padStart(5),
  ].join('')
}
function fillRow(name: string, looks: readonly FillLook[], isMisled: boolean): string {
  const good = looks.filter((look) => look.kind === 'good')
  const wrong = looks.filter((look) => look.kind !== 'good' && look.isLearned)
  const invented = good.filter((look) => look.alarm !== undefined && (look.isLearned || !isMisled))
  const silent = wrong.filter((look) => look.alarm === undefined)
  const usualS = mean(known(good.map(({ lengthS }) => lengthS)))
  const late = wrong.filter(({ alarm, kind, sinceDueS, sinceImpossibleS }) => {
    if (alarm === undefined) return false
    const isLateToBegin = kind === 'buffer_empty' && (sinceDueS ?? 0) > 0.2 * usualS
    return isLateToBegin || (sinceImpossibleS ?? 0) > 5
  })
  for (const look of [...invented, ...silent, ...late])
    misses.push(
      `${name}, seed ${look.seed}, splice ${look.splice}, ${look.kind}: ${look.alarm ?? 'silent'} ${seconds(look.sinceDueS ?? Number.NaN, 0)} s after due, ${seconds(look.sinceImpossibleS ?? Number.NaN, 0)} s after impossible, usual fill ${seconds(usualS, 0)} s`,
    )
  const worst = (some: readonly (number | undefined)[]): number => Math.max(...known(some))
  return [
    String(good.length).padStart(6),
    String(invented.length).padStart(6),
    String(wrong.length).padStart(7),
    String(silent.length).padStart(7),
    String(late.length).padStart(5),
    seconds(worst(wrong.filter(({ kind }) => kind === 'buffer_empty').map((look) => look.sinceDueS)), 8),
    seconds(worst(wrong.map((look) => look.sinceImpossibleS)), 8),
    seconds(usualS, 7),
  ].join('')
}
console.log(
  `${''.padEnd(30)}| need: RMS  bias bound  before  speed    P95    n |  good false  wrong silent late max due  max imp  usual s`,
)
for (const index of chosen) {
  const { name, isMisled = false } = BUFFER_SCENARIOS[index]!
  const own = answers.filter((answer) => answer.scenario === index)
  const needs = own.flatMap((answer) => answer.looks?.needs ?? [])
  const fills = own.flatMap((answer) => answer.looks?.fills ?? [])
  console.log(
    `${name.padEnd(30)}|${needRow(name, needs, isMisled)} |${isFilled(index) ? fillRow(name, fills, isMisled) : ''}`,
  )
}
const failures = answers.flatMap(({ failed }) => (failed === undefined ? [] : [failed]))
console.log(
  `\n%: RMS and mean of forecast ÷ truth − 1 from the splice number ${LEARNED_AFTER + 1} on; ${jobs.length} runs in ${((performance.now() - began) / 1000).toFixed(0)} s`,
)
for (const line of misses.slice(0, 80)) console.log(line)
if (misses.length > 80) console.log(`and ${misses.length - 80} more`)
for (const failure of failures) console.error(failure)
if (failures.length > 0) process.exitCode = 1
