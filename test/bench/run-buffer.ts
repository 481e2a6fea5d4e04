/** One seed of one machine: what was forecast of each splice and each fill, against what the truth took and did. */
import { replaySimulation } from '../pipeline/replay-simulation.ts'
import { UnwindDrive } from '../truth/drives.ts'
import { type Simulation, simulate } from '../truth/line-simulator.ts'
import { diameterOverM, Roll } from '../truth/roll.ts'
import { capacityM, cycleSpeedMps, defineScenario, mps, type Scenario, usualWebM } from '../truth/scenario.ts'
import type { SpliceTruth } from '../truth/truth.ts'
import type { BufferScenario } from './buffer-scenarios.ts'

/** Splices after which a splicer counts as learned (issue). */
export const LEARNED_AFTER = 10
const SPLICES = 16
/** Looks are taken so long before the cycle, s: before most fills. */
const LOOK_S = 45
const USABLE_S = 100

export interface NeedLook {
  seed: number
  splice: number
  isLearned: boolean
  /** Forecast ÷ what the cycle took, less 1. */
  needed: number | undefined
  /** How much of what it took was chance: its stop's own scatter, share. */
  chance: number
  /** Highest speed ÷ the speed at which this very cycle would have left the reserve, less 1. */
  highestSpeed: number | undefined
}

export interface FillLook {
  seed: number
  splice: number
  kind: 'good' | 'slow_fill' | 'buffer_empty'
  isLearned: boolean
  /** The first alarm of this fill; when it was raised, s since the fill should have begun and since it could not be complete any more. */
  alarm: string | undefined
  sinceDueS: number | undefined
  sinceImpossibleS: number | undefined
  /** From when the fill should have begun until the buffer was full. */
  lengthS: number | undefined
}

export interface BufferLooks {
  needs: NeedLook[]
  fills: FillLook[]
}

export function scenarioOf({ given, lengths, speeds }: BufferScenario, seed: number, faults: boolean): Scenario {
  const usual = defineScenario(given)
  const v = mps(usual.speedMpm)
  const riseM = capacityM(usual) * (usual.fillShare - usual.runningShare)
  const fillS = usual.bufferMode === 'fill_before' ? riseM / (usual.overspeed * v) : 0
  const slowS = ((v - cycleSpeedMps(usual)) / usual.lineRampMps2) * 2
  const least = USABLE_S + 1.5 * fillS + 1.5 * slowS
  const rollS = lengths === undefined ? least : least / Math.min(...lengths)
  const rollsS = lengths?.length
    ? Array.from({ length: SPLICES + 6 }, (_, i) => rollS * lengths[(i + seed) % lengths.length]!)
    : []
  const cycleS = 25 + fillS + slowS
  const wholeS = Array.from({ length: SPLICES }, (_, i) => (rollsS[i] ?? rollS) + cycleS)
  const schedule: { atS: number; speedMpm: number }[] = []
  if (speeds !== undefined) {
    // Changed soon after each splice, as near as can be said before.
    for (let i = 0, atS = 0; i < 3 * SPLICES; i++, atS += least * 0.9) {
      schedule.push({ atS, speedMpm: Math.round(usual.speedMpm * speeds[(i + seed) % speeds.length]!) })
    }
  }
  const events = faults
    ? ([11, 13, 15] as const).map((roll, i) => ({
        roll,
        kind: i % 2 === 0 ? ('slow_fill' as const) : ('buffer_empty' as const),
      }))
    : []
  return defineScenario({
    ...given,
    seed,
    rollS,
    rollsS,
    schedule,
    events,
    firstRoll: 0.95,
    preparationS: 30,
    repairS: 60,
    durationS: Math.ceil(wholeS.reduce((sum, one) => sum + one, 0) / (speeds === undefined ? 1 : 0.75)),
  })
}

/** What a cycle with this stop on this roll takes at a speed, by running the drive itself, m. */
export function cycleWebM(s: Scenario, roll: Roll, fullM: number, stopS: number, lineMps: number): number {
  const drive = new UnwindDrive(s, lineMps)
  const dtS = 0.005
  let webM = stopS * lineMps
  const run = (kind: 'stop' | 'start', isOver: () => boolean): void => {
    while (!isOver()) {
      const before = drive.speedMps
      drive.step({ kind, storedTargetM: 0 }, lineMps, 0, roll, fullM, dtS)
      webM += (lineMps - (before + drive.speedMps) / 2) * dtS
    }
  }
  run('stop', () => drive.speedMps <= 0)
  run('start', () => drive.speedMps >= lineMps)
  return webM
}

/** The speed at which that cycle takes no more than `usableM`, m/s. */
function speedFor(usableM: number, needM: (speedMps: number) => number): number {
  let slow = 0.01
  let fast = 60
  for (let i = 0; i < 22; i++) {
    const middle = (slow + fast) / 2
    if (needM(middle) < usableM) slow = middle
    else fast = middle
  }
  return slow
}

/** A roll as it stands after the transfer: as long as that number was made, its true caliper the label's. */
function newRollOf(s: Scenario, number: number): Roll {
  const lengthM = usualWebM(s, s.rollsS[number])
  const fullM = diameterOverM(s.spliceMm / 1000, lengthM, s.caliperUm * 1e-6)
  const coreM = s.coreMm / 1000
  return new Roll({
    id: '',
    lengthM: (Math.PI * (fullM ** 2 - coreM ** 2)) / (4 * s.caliperUm * 1e-6),
    coreM,
    caliperM: s.caliperUm * 1e-6,
    drift: 0,
    ...(s.widthsM.length === 0 ? {} : { widthM: s.widthsM[number % s.widthsM.length]! }),
  })
}

export function runBuffer(bench: BufferScenario, index: number, seed: number, faults: boolean): BufferLooks {
  const run = simulate(scenarioOf(bench, seed * 1000 + index, faults))
  const said = replaySimulation(run)
  const s = run.scenario
  const rowAt = new Map(said.forecast.map((row) => [Date.parse(row.time), row]))
  const truthAt = new Map(run.truth.map((row) => [row.tMs, row]))
  const looks: BufferLooks = { needs: [], fills: [] }
  run.splices.forEach((splice, k) => {
    fillLook(run, said.alarms, splice, k, seed, looks)
    if (splice.outcome !== 'good' || splice.webFromBufferM === undefined) return
    const lookTMs = Math.floor(splice.startedTMs / 1000) * 1000 - LOOK_S * 1000
    const row = rowAt.get(lookTMs)
    const truth = truthAt.get(lookTMs)
    const before = truthAt.get(Math.floor(splice.startedTMs / 1000) * 1000)
    if (row === undefined || truth === undefined || before === undefined) return
    if (row.state === 'splicing' || row.state === 'refilling') return
    // Another speed than at the look is another need; a planned slow-down is what has to be foreseen.
    const isKept =
      Math.abs(splice.speedMpm - Math.min(truth.speedMpm, s.spliceSpeedMpm ?? 1e9)) < 0.01 * splice.speedMpm
    const isKeptThen = run.truth.every(
      ({ tMs, speedMpm }) =>
        tMs < splice.startedTMs ||
        tMs > (splice.backTMs ?? 0) ||
        Math.abs(speedMpm - splice.speedMpm) < 0.01 * splice.speedMpm,
    )
    if (!isKept || !isKeptThen) return
    const isFaulted = s.events.some(({ roll }) => roll === splice.roll)
    const v = mps(splice.speedMpm)
    const stopS = splice.stoppedSeconds
    const roll = newRollOf(s, splice.roll + 1)
    const usableM = before.storedM - s.reserveM
    // What this cycle takes by the drive alone is what it took: the rest is the generator's steps.
    const scale = splice.webFromBufferM / cycleWebM(s, roll, roll.diameterM, stopS, v)
    const bestMps = speedFor(usableM, (speedMps) => scale * cycleWebM(s, roll, roll.diameterM, stopS, speedMps))
    looks.needs.push({
      seed,
      splice: k,
      isLearned: k >= LEARNED_AFTER,
      needed: row.buffer_needed === null ? undefined : row.buffer_needed / s.tachScale / splice.webFromBufferM - 1,
      chance: (s.stopScatter * s.stopS * v) / splice.webFromBufferM,
      // Of a fill that will fail nobody knows before it should have begun.
      highestSpeed: isFaulted || row.safe_speed === null ? undefined : row.safe_speed / s.tachScale / 60 / bestMps - 1,
    })
  })
  return looks
}

const FILL_ALARMS = new Set(['buffer_short', 'buffer_not_filling'])

function fillLook(
  run: Simulation,
  alarms: readonly { time: string; alarm: string; event: string }[],
  splice: SpliceTruth,
  k: number,
  seed: number,
  looks: BufferLooks,
): void {
  const s = run.scenario
  const event = s.events.find(({ roll }) => roll === splice.roll)?.kind
  const kind = event === 'slow_fill' || event === 'buffer_empty' ? event : 'good'
  const rows = run.truth.filter((row) => row.rollNumber === splice.roll && row.tMs < splice.startedTMs)
  const first = rows[0]
  if (first === undefined) return
  const fillM = capacityM(s) * s.fillShare
  const dueTMs = rows.find((row) => row.readingMm <= run.fillMm)?.tMs
  const impossibleTMs = rows.find((row) => {
    if (row.metresToSplice === undefined || dueTMs === undefined || row.tMs < dueTMs) return false
    return row.storedM + (row.metresToSplice * s.overspeed) / (1 + s.overspeed) < fillM
  })?.tMs
  const fullTMs = rows.find((row) => dueTMs !== undefined && row.tMs > dueTMs && row.storedM > 0.98 * fillM)?.tMs
  const raised = alarms.find(
    (row) =>
      row.event === 'raised' &&
      FILL_ALARMS.has(row.alarm) &&
      Date.parse(row.time) >= first.tMs &&
      Date.parse(row.time) < splice.startedTMs,
  )
  const since = (tMs: number | undefined): number | undefined =>
    raised === undefined || tMs === undefined ? undefined : (Date.parse(raised.time) - tMs) / 1000
  looks.fills.push({
    seed,
    splice: k,
    kind,
    isLearned: k >= LEARNED_AFTER,
    alarm: raised?.alarm,
    sinceDueS: since(dueTMs),
    sinceImpossibleS: since(impossibleTMs),
    lengthS: dueTMs === undefined || fullTMs === undefined ? undefined : (fullTMs - dueTMs) / 1000,
  })
}
