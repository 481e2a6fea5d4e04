/**
 * `npm run bench:forecast [splices] [seeds]`: error of the countdown against the truth at fixed times before the cycle, and how
 * often the 80 % interval held it, per scenario.
 */
import { type ForecastError, forecastErrors, rms, share } from '../pipeline/judge.ts'
import { replaySimulation } from '../pipeline/replay-simulation.ts'
import { FORECAST_CASES, LONG_ROLLS } from '../truth/cases.ts'
import { simulate } from '../truth/line-simulator.ts'

/** Half of the central 80 % of a normal, in standard deviations. */
const Z80 = 1.2816
const HORIZONS_S = [300, 120, 60, 20]
const splices = Number(process.argv[2] ?? 6)
const seeds = Number(process.argv[3] ?? 1)
const only = process.argv[4]
const progress = (text: string): void => {
  if (process.stderr.isTTY) process.stderr.write(`\r\x1b[K${text}`)
}
const cell = (value: number, decimals: number, width: number): string =>
  (Number.isFinite(value) ? value.toFixed(decimals) : '–').padStart(width)

const head = HORIZONS_S.map((s) => `${s >= 60 ? `${s / 60} min` : `${s} s`}`.padStart(8).padEnd(20)).join('|')
console.log(`${'scenario'.padEnd(32)}|${head}`)
console.log(`${' '.repeat(32)}|${HORIZONS_S.map(() => '   m rms  s rms   in').join('|')}`)

const pooled = new Map<number, { m: number[]; s: number[]; inM: boolean[]; z: number[] }>()
const names = Object.keys(FORECAST_CASES).filter((name) => only === undefined || name.includes(only))
for (const [i, name] of names.entries()) {
  const all: ForecastError[] = []
  for (let seed = 1; seed <= seeds; seed++) {
    progress(`${i + 1} of ${names.length}: ${name}, seed ${seed}`)
    const run = simulate({ ...LONG_ROLLS, durationS: 420 * splices, ...FORECAST_CASES[name], seed: 100 * i + seed })
    all.push(...forecastErrors(run, replaySimulation(run).forecast, HORIZONS_S))
  }
  progress('')
  const cells = HORIZONS_S.map((horizon) => {
    const here = all.filter((one) => one.horizonS === horizon)
    const m = here.flatMap((one) => (one.metres === undefined ? [] : [one.metres]))
    const s = here.flatMap((one) => (one.seconds === undefined ? [] : [one.seconds]))
    const inM = here.map((one) => one.isMetresInside)
    const pool = pooled.get(horizon) ?? { m: [], s: [], inM: [], z: [] }
    pool.m.push(...m)
    for (const one of here)
      if (one.metres !== undefined && one.halfWidthM) pool.z.push((Z80 * one.metres) / one.halfWidthM)
    pool.s.push(...s)
    pool.inM.push(...inM)
    pooled.set(horizon, pool)
    return `${cell(rms(m), 2, 8)} ${cell(rms(s), 2, 6)} ${cell(100 * share(inM), 0, 4)}`
  })
  console.log(`${name.padEnd(32)}|${cells.join('|')}`)
}
const total = HORIZONS_S.map((horizon) => {
  const pool = pooled.get(horizon)!
  const sorted = pool.s.map(Math.abs).sort((a, b) => a - b)
  const at = (p: number): number => sorted[Math.min(sorted.length - 1, Math.floor(p * sorted.length))] ?? Number.NaN
  return `${cell(at(0.5), 2, 8)} ${cell(at(0.95), 2, 6)} ${cell(100 * share(pool.inM), 0, 4)}`
})
console.log(`${'all: median s, P95 s, % inside'.padEnd(32)}|${total.join('|')}`)
const spread = HORIZONS_S.map((horizon) => cell(rms(pooled.get(horizon)!.z), 2, 8).padEnd(20))
console.log(`${'error ÷ its own sd, rms'.padEnd(32)}|${spread.join('|')}`)
