/**
 * One bench scenario: ten short rolls teach (a few times, each with its own seed), then long rolls are judged, each seed
 * from what one of the teachers left; every look at every roll against the truth.
 */
import type { ForecastRow } from '../../edge/columns.ts'
import { forecastErrors } from '../pipeline/judge.ts'
import { newReplay, samplesOf } from '../pipeline/replay-simulation.ts'
import { type Simulation, simulate } from '../truth/line-simulator.ts'
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

/** So many seeds of a scenario teach; the judged ones share what they left. */
export const TEACHERS = 5
const LONG_FIRST_S = 700
/** A cycle takes no longer from the roll's time than this, the stops of the line and its net web apart, s. */
const CYCLE_S = 10
/** So much of a recording behind the splice that ends the judged roll is replayed: nothing later is looked at, s. */
const REPLAYED_BEHIND_S = 10
/** The judged rolls run so much later than those that taught, s. */
const LATER_S = 4 * 3600

/** How long a short roll lasts, and what a cycle adds, s. */
function shortRoll(usual: Scenario): { rollS: number; cycleS: number } {
  // A short roll has to be longer than the fill before its splice.
  const riseM = capacityM(usual) * (usual.fillShare - usual.runningShare)
  const fillS =
    usual.bufferMode === 'fill_before' && usual.method === 'zero_speed'
      ? riseM / (usual.overspeed * mps(usual.speedMpm))
      : 0
  const slowS = (mps(usual.speedMpm) - cycleSpeedMps(usual)) / usual.lineRampMps2
  const joinS = usual.method === 'stopped' ? usual.joinS + 40 : 0
  return {
    rollS: SHORT_ROLL_S + 1.5 * fillS + 1.5 * slowS,
    cycleS: CYCLE_S + joinS + netWebM(usual, mps(usual.speedMpm)) / mps(usual.speedMpm),
  }
}

/** Ten short rolls. Every second teacher begins with a long one: what a countdown says before it has seen a single splice. */
export function teachingScenario(bench: BenchScenario, seed: number, teacher: number): Scenario {
  const { rollS, cycleS } = shortRoll(defineScenario(bench.given))
  const first = teacher % 2 === 0 ? LONG_FIRST_S : rollS
  const durationS = Math.ceil(first + (SHORT_ROLLS - 1) * rollS + SHORT_ROLLS * cycleS)
  return defineScenario({ ...bench.given, seed, rollS, rollsS: [first], firstRoll: 0.95, preparationS: 30, durationS })
}

/** A short roll and the long one that is judged. */
export function judgedScenario(bench: BenchScenario, seed: number): Scenario {
  const usual = defineScenario(bench.given)
  const { rollS, cycleS } = shortRoll(usual)
  return defineScenario({
    ...bench.given,
    seed,
    startTMs: usual.startTMs + LATER_S * 1000,
    rollS,
    rollsS: [rollS, bench.longRollS],
    firstRoll: 0.95,
    preparationS: 30,
    durationS: Math.ceil(rollS + bench.longRollS + 2 * cycleS),
  })
}

export function referenceOf(bench: BenchScenario): Reference {
  const scenario = judgedScenario(bench, 1)
  const bM = Object.fromEntries(
    countdownBound(scenario, bench.longRollS, HORIZONS_S).map(({ horizonS, bM: b }) => [horizonS, b]),
  )
  return { bM, trigger: triggerScatter(scenario) }
}

/** What a teacher's seed left in the pipeline, as plain data. */
export type Taught = { unwind: string; data: unknown }[]

export function teach(
  bench: BenchScenario,
  index: number,
  teacher: number,
  reference: Reference,
): { looks: Look[]; taught: Taught } {
  const run = simulate(teachingScenario(bench, TEACHING_SEEDS + teacher * 1000 + index, teacher))
  const { replay, forecast } = replayed(run, Number.POSITIVE_INFINITY, [])
  const looks = looksAt(run, forecast, reference.trigger, { scenario: index, seed: -teacher, firstRoll: 0 })
  return { looks: looks.filter(({ roll }) => roll < SHORT_ROLLS), taught: structuredClone(replay.unwinds.snapshots()) }
}
/** Far from the judged seeds. */
const TEACHING_SEEDS = 1_000_000

export function judge(bench: BenchScenario, index: number, seed: number, reference: Reference, taught: Taught): Look[] {
  const run = simulate(judgedScenario(bench, seed * 1000 + index))
  const judged = run.splices.find(({ roll }) => roll === 1)
  if (judged === undefined) throw new Error('the recording ends before the splice of the judged roll')
  const { forecast } = replayed(run, judged.startedTMs + REPLAYED_BEHIND_S * 1000, taught)
  return looksAt(run, forecast, reference.trigger, { scenario: index, seed, firstRoll: SHORT_ROLLS })
}

/** @throws Error where a pipeline failed on the way: that is never right. */
function replayed(run: Simulation, untilTMs: number, taught: Taught) {
  const { replay, said } = newReplay(run.config)
  for (const { unwind, data } of taught) replay.unwinds.restore(unwind, data, true)
  replay.take(samplesOf(run.rows.filter(({ tMs }) => tMs <= untilTMs)))
  replay.finish()
  if (said.faults.length > 0) throw new Error(`the pipeline failed: ${said.faults[0]} (${said.faults.length} times)`)
  return { replay, forecast: said.forecast }
}

/** @param of - the scenario, the seed, and how many rolls the splicer had seen before this recording. */
function looksAt(
  run: Simulation,
  forecast: readonly ForecastRow[],
  trigger: TriggerScatter,
  of: { scenario: number; seed: number; firstRoll: number },
): Look[] {
  const s = run.scenario
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
    if (row === undefined || splice === undefined) return []
    const roll = of.firstRoll + error.roll
    // Where this cycle's noise put it, against where it is on average.
    const offM = (splice.readingMm - trigger.meanReadingMm) * trigger.mPerMm
    const naive = lineAt.get(error.tMs)
    const less = (value: number | undefined): number | undefined =>
      value === undefined ? undefined : value - row.metresToSplice! - offM
    return [
      {
        scenario: of.scenario,
        seed: of.seed,
        roll,
        horizonS: error.horizonS,
        isJudged: roll > SHORT_ROLLS && row.shareRun >= 0.4,
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
