/**
 * The truth generator: simulates unwinds and gives a recording, the config that belongs to it and what really happened.
 * It shares no physics with `edge/`; tests of the core are judged by it.
 */
import { configFile } from './config-file.ts'
import { Plant } from './plant.ts'
import { type RecordingRow, recordingCsv, spoilOrder } from './recording-file.ts'
import { defineScenario, type Scenario } from './scenario.ts'
import { during } from './sensor.ts'
import { type TagValue, type TruthTag, tagsOf } from './tags.ts'
import { type SpliceTruth, TruthRecorder, type TruthRow } from './truth.ts'

export interface Simulation {
  scenario: Scenario
  tags: readonly TruthTag[]
  /** In the order of the file. */
  rows: RecordingRow[]
  config: string
  splices: SpliceTruth[]
  truth: TruthRow[]
  handChangesTMs: number[]
  /** Reading at which the fill before a splice begins, mm; 0 where there is none. */
  fillMm: number
  arrivals: TruthRecorder['arrivals']
  /** Totals for checks of the generator itself, m. */
  totals: { takenM: number; passedM: number; storedM: number; storedAtStartM: number }
  csv(times?: 'iso' | 'ms'): string
}

/** Runs one unwind to the end of its scenario. Same scenario, same result. */
export function simulate(given: Partial<Scenario> = {}): Simulation {
  const scenario = defineScenario(given)
  const recorder = new TruthRecorder(scenario)
  const plant = new Plant(scenario, recorder)
  const storedAtStartM = plant.storedM
  const tags = tagsOf(scenario)
  const last: (TagValue | undefined)[] = tags.map(() => undefined)
  const wasBad = tags.map(() => false)
  const plainRows: RecordingRow[] = []
  const sample = (tMs: number): void => {
    const tS = tMs / 1000
    const { disturbances } = scenario
    if (disturbances.length > 0 && during(disturbances, 'gap', tS)) return
    for (let i = 0; i < tags.length; i++) {
      const tag = tags[i]!
      if (tMs % (scenario.periodsMs[tag.signal] ?? scenario.periodMs) !== 0) continue
      if (tag.signal === 'roll_diameter') {
        if (during(disturbances, 'dropout', tS)) continue
        const isBlind = plant.sensor.isBlind && scenario.blindBy === 'bad'
        if (isBlind || during(disturbances, 'bad', tS)) {
          if (!wasBad[i]) plainRows.push(rowOf(tag, tMs, undefined, 'bad'))
          wasBad[i] = true
          last[i] = undefined
          continue
        }
        wasBad[i] = false
      }
      const value = tag.signal === 'roll_diameter' && during(disturbances, 'zero', tS) ? 0 : tag.read(plant)
      if (scenario.onChange && value === last[i]) continue
      last[i] = value
      plainRows.push(rowOf(tag, tMs, value, 'good'))
    }
  }
  const rowOf = (
    tag: TruthTag,
    tMs: number,
    value: TagValue | undefined,
    quality: RecordingRow['quality'],
  ): RecordingRow => ({
    tMs: scenario.startTMs + tMs + (tag.source === 'hall_broker' ? scenario.brokerAheadMs : 0),
    source: tag.source,
    address: tag.address,
    value,
    quality,
  })

  const endMs = scenario.durationS * 1000
  while (plant.tMs < endMs) {
    plant.step()
    if (plant.tMs % scenario.periodMs === 0) sample(plant.tMs)
  }
  const rows = spoilOrder(plainRows, scenario)
  return {
    scenario,
    tags,
    rows,
    config: configFile([{ scenario, tags }]),
    splices: recorder.splices,
    truth: recorder.rows,
    handChangesTMs: recorder.handChangesTMs,
    fillMm: plant.splicer.fillMm,
    arrivals: recorder.arrivals,
    totals: { takenM: plant.takenM, passedM: plant.passedM, storedM: plant.storedM, storedAtStartM },
    csv: (times) => recordingCsv(rows, times),
  }
}

/** Several unwinds (each with its own id) in one recording and one config. */
export function simulateSite(givens: readonly Partial<Scenario>[]): {
  simulations: Simulation[]
  config: string
  rows: RecordingRow[]
} {
  const simulations = givens.map(simulate)
  const rows = simulations.flatMap((one) => one.rows).sort((a, b) => a.tMs - b.tMs)
  return { simulations, config: configFile(simulations), rows }
}
