/**
 * `npm run bench:trends` (`-- --quick` for a tenth): false calls of a splicer's charts, all of them together, and how many
 * drifts of stop length are called in time. Asked for: with scatter up to 5 %, a drift of 5 % in 100 splices called within
 * 120 on 95 % of drifts after a baseline of 100, and less than one false call in 1000 splices. Ends with status 1 otherwise.
 */
import { wilson } from '../../edge/trends/control-charts.ts'
import type { PlantOptions } from './trends-plant.ts'
import { falseCalls, splicesToCall } from './trends-runs.ts'

const share = process.argv.includes('--quick') ? 0.1 : 1
const plants = (first: number, count: number, splices: number, more: Partial<PlantOptions> = {}): PlantOptions[] =>
  Array.from({ length: Math.ceil(count * share) }, (_, i) => ({ seed: first + i, splices, ...more }))
let hasFailed = false

let [splices, calls] = [0, 0]
for (const [name, group] of [
  ['new splicers, 500 splices each', plants(1, 80, 500)],
  ['old splicers, 5000 splices each', plants(1000, 8, 5000)],
  ['long tails and outliers', plants(2000, 80, 500, { isRough: true })],
] as const) {
  const found = falseCalls(group)
  splices += found.splices
  calls += found.calls
  const by = [...found.by].sort((a, b) => b[1] - a[1]).map(([chart, n]) => `${chart} ${n}`)
  console.log(`${name}: ${found.calls} false calls in ${found.splices} splices (${by.join(', ')})`)
}
const perThousand = (calls / splices) * 1000
console.log(
  `false calls, all charts together: ${perThousand.toFixed(2)} per 1000 splices, of ${splices}; asked for < 1`,
)
hasFailed ||= perThousand >= 1

for (const [baseline, scatter] of [
  [100, 0.05],
  [100, 0.03],
  [400, 0.05],
] as const) {
  const drift = { perSplice: 0.05 / 100, from: baseline }
  const runs = plants(5000, 400, baseline + 120, { scatter }).map((plant) => splicesToCall({ ...plant, drift }))
  const found = runs.filter((after) => after !== undefined).sort((a, b) => a - b)
  const interval = wilson(found.length, runs.length)!
  const percent = (one: number): string => (100 * one).toFixed(1)
  console.log(
    `drift of 5 % in 100 splices, scatter ${scatter * 100} %, baseline ${baseline}: ${percent(interval.share)} % called within 120 ` +
      `(95 % interval ${percent(interval.low)} to ${percent(interval.high)}), median after ${found[found.length >> 1]}; asked for 95 %`,
  )
  hasFailed ||= interval.share < 0.95
}
process.exitCode = hasFailed ? 1 : 0
