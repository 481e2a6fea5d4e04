/** One seed of one bench scenario: short rolls that teach, then a long one; every look at every roll against the truth. */
import { forecastErrors } from '../pipeline/judge.ts'
import { replaySimulation } from '../pipeline/replay-simulation.ts'
import { simulate } from '../truth/line-simulator.ts'
import { capacityM, cycleSpeedMps, defineScenario, mps, netWebM, type Scenario } from '../truth/scenario.ts'
import { countdownBound, type TriggerScatter, triggerScatter } from './bound.ts'
import { DiameterLine, nominalMetres } from './naive.ts'
import type { BenchScenario } from './scenarios.ts'

export const HORIZONS_S: readonly number[] = [1800, 600, 300, 120, 60, 20]
/** The countdown is judged from the eleventh splice on (issue); before, only its interval is. */
export const SHORT_ROLLS = 10
const SHORT_ROLL_S = 80

export interface Look {
  scenario: number
  seed: number
  roll: number
  horizonS: number
  /** Ten splices and more were seen, and 40 % of this roll had run. */
  isJudged: boolean
  /** Forecast less truth. */
  metres: number | undefined
  seconds: number | undefined
  /** The same in metres with the trigger's scatter taken out, for the forecast and both naive ways. */
  plainMetres: number | undefined
  nominalMetres: number | undefined
  lineMetres: number | undefined
  isMetresInside: boolean
  isSecondsInside: boolean | undefined
  halfWidthM: number | undefined
  speedMps: number
}

export interface Reference {
  /** B at each horizon of the long roll, m. */
  bM: Record<number, number>
  trigger: TriggerScatter
}

/** One seed in four begins with a long roll: what a countdown says before it has seen a single splice. */
export const scenarioOf = (bench: BenchScenario, seed: number): Scenario => {
  const usual = defineScenario(bench.given)
  // A short roll has to be longer than the fill before its splice.
  const riseM = capacityM(usual) * (usual.fillShare - usual.runningShare)
  const fillS =
    usual.bufferMode === 'fill_before' && usual.method === 'zero_speed'
      ? riseM / (usual.overspeed * mps(usual.speedMpm))
      : 0
  const slowS = (mps(usual.speedMpm) - cycleSpeedMps(usual)) / usual.lineRampMps2
  const joinS = usual.method === 'stopped' ? usual.joinS + 40 : 0
  const rollS = SHORT_ROLL_S + 1.5 * fillS + 1.5 * slowS
  const first = seed % 4 === 0 ? LONG_FIRST_S : rollS
  const rollsS: (number | undefined)[] = [first]
  rollsS[SHORT_ROLLS] = bench.longRollS
  const cycleS = CYCLE_S + joinS + netWebM(usual, mps(usual.speedMpm)) / mps(usual.speedMpm)
  return defineScenario({
    ...bench.given,
    seed,
    rollS,
    rollsS,
    firstRoll: 0.95,
    preparationS: 30,
    durationS: Math.ceil(first + SHORT_ROLLS * (rollS + cycleS) + bench.longRollS + cycleS),
  })
}
const LONG_FIRST_S = 700
/** A cycle takes no longer from the roll's time than this, the stops of the line and its net web apart, s. */
const CYCLE_S = 10
/** So much of a recording behind the splice that ends the judged roll is replayed: nothing later is looked at, s. */
const REPLAYED_BEHIND_S = 10

export function referenceOf(bench: BenchScenario): Reference {
  const scenario = scenarioOf(bench, 1)
  const bM = Object.fromEntries(
    countdownBound(scenario, bench.longRollS, HORIZONS_S).map(({ horizonS, bM: b }) => [horizonS, b]),
  )
  return { bM, trigger: triggerScatter(scenario) }
}

export function runCase(bench: BenchScenario, index: number, seed: number, { trigger }: Reference): Look[] {
  const run = simulate(scenarioOf(bench, seed * 1000 + index))
  const s = run.scenario
  const judged = run.splices.find(({ roll }) => roll === SHORT_ROLLS)
  if (judged === undefined) throw new Error('the recording ends before the splice of the judged roll')
  const untilTMs = judged.startedTMs + REPLAYED_BEHIND_S * 1000
  const { forecast } = replaySimulation({ config: run.config, rows: run.rows.filter(({ tMs }) => tMs <= untilTMs) })
  const rowAt = new Map(run.truth.map((row) => [row.tMs, row]))
  const startOf = new Map(run.splices.map((splice) => [splice.roll, splice]))
  // Straight lines through the smoothed diameter, each roll its own, read off where a look is taken.
  const lineAt = new Map<number, { nominal: number; line: number | undefined }>()
  const line = new DiameterLine()
  let roll = -1
  let skip = 0
  for (const said of forecast) {
    const tMs = Date.parse(said.time)
    const row = rowAt.get(tMs)
    if (row === undefined || said.diameter === null) continue
    if (row.rollNumber !== roll) {
      roll = row.rollNumber
      line.clear()
      skip = 15
    }
    if (skip-- > 0) continue
    line.add(row.takenTagM, said.diameter)
    lineAt.set(tMs, {
      nominal: nominalMetres(said.diameter, s.spliceMm, s.caliperUm),
      line: line.metres(row.takenTagM, s.spliceMm),
    })
  }
  return forecastErrors(run, forecast, HORIZONS_S).flatMap((error): Look[] => {
    const row = rowAt.get(error.tMs)
    const splice = startOf.get(error.roll)
    if (row === undefined || splice === undefined || error.roll > SHORT_ROLLS) return []
    // Where this cycle's noise put it, against where it is on average.
    const offM = (splice.readingMm - trigger.meanReadingMm) * trigger.mPerMm
    const naive = lineAt.get(error.tMs)
    const less = (value: number | undefined): number | undefined =>
      value === undefined ? undefined : value - row.metresToSplice! - offM
    return [
      {
        scenario: index,
        seed,
        roll: error.roll,
        horizonS: error.horizonS,
        isJudged: error.roll === SHORT_ROLLS && row.shareRun >= 0.4,
        metres: error.metres,
        seconds: error.seconds,
        plainMetres: error.metres === undefined ? undefined : error.metres - offM,
        nominalMetres: less(naive?.nominal),
        lineMetres: less(naive?.line),
        isMetresInside: error.isMetresInside,
        isSecondsInside: error.isSecondsInside,
        halfWidthM: error.halfWidthM,
        speedMps: error.speedMpm / 60,
      },
    ]
  })
}
