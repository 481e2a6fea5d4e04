/** A machine drawn at random, for benches that ask how the figures hold on machines which nobody had in mind. */
import { randomStream } from '../truth/random.ts'
import { diameterOverM } from '../truth/roll.ts'
import {
  ALL,
  capacityM,
  cycleSpeedMps,
  defineScenario,
  REQUIRED,
  type Scenario,
  SUBSTRATES,
  USUAL,
} from '../truth/scenario.ts'

const MAPPED = { required: REQUIRED, usual: USUAL, all: ALL }
/** So far over its core a setting lies at least, mm, and so much more web than its stop takes it leaves, share. */
const OVER_CORE_MM = 5
const SPARE_WEB = { least: 1.3, most: 2.5 }
/** A carriage holds so much and no more, m. */
const LARGEST_BUFFER_M = 400

export interface DrawnMachine {
  name: string
  mapped: keyof typeof MAPPED
  substrate: keyof typeof SUBSTRATES
  given: Partial<Scenario>
}

/** 60 to 1000 m/min, cores of 90 to 172 mm, noise of 0.1 to 5 mm, readings ten times a second to once. */
export function drawnMachine(seed: number): DrawnMachine {
  const random = randomStream(seed, 'machine')
  const pick = <T>(of: readonly T[]): T => of[Math.min(of.length - 1, Math.floor(random.even() * of.length))]!
  const between = (low: number, high: number): number => low + (high - low) * random.even()
  const byRatio = (low: number, high: number): number => low * (high / low) ** random.even()
  const substrate = pick(Object.keys(SUBSTRATES) as (keyof typeof SUBSTRATES)[])
  const mapped = pick(Object.keys(MAPPED) as (keyof typeof MAPPED)[])
  const { caliperUm } = SUBSTRATES[substrate]
  const method = pick(['zero_speed', 'zero_speed', 'zero_speed', 'flying', 'stopped'] as const)
  const speedMpm = Math.round(byRatio(60, method === 'stopped' ? 400 : 1000))
  const coreMm = Math.round(between(90, 172))
  const given: Partial<Scenario> = {
    caliperUm: Math.round(caliperUm * between(0.8, 1.25) * 10) / 10,
    coreMm,
    speedMpm,
    method,
    noiseMm: byRatio(0.1, caliperUm < 50 ? 1 : 5),
    quantumMm: pick([0.01, 0.1, 0.1, 0.5, 1]),
    outOfRoundMm: pick([0, 0, 0.5, 1, 2]),
    periodMs: pick([50, 100, 100, 200, 500, 1000]),
    filterS: between(0, 1.5),
    scanMs: pick([10, 20, 50, 100]),
    triggerDelayS: between(0, 0.4),
    caliperOff: between(-0.05, 0.05),
    caliperScatter: between(0.003, 0.015),
    caliperDrift: between(-0.03, 0.03),
    offsetMm: between(-3, 3),
    scale: pick([1, 1, 0.99, 1.01]),
    tachScale: pick([1, 1, 1, 0.99, 1.01]),
    decelerationMps2: between(1.2, 4),
    accelerationMps2: between(0.8, 2.5),
    lineRampMps2: between(0.2, 0.6),
    stopS: between(0.7, 2.5),
    overspeed: between(0.08, 0.25),
    jerkS: pick([0, 0, 0.3]),
    bufferMode: pick(['fill_before', 'fill_before', 'rides_full'] as const),
    onChange: pick([false, false, true]),
    unwindDrive: pick(['driven', 'driven', 'braked'] as const),
    signals: MAPPED[mapped],
  }
  const name = `${seed}: ${substrate}, ${speedMpm} m/min, ${method}, ${mapped}`
  // Such a festoon is not built: the line slows for its splices.
  if (method === 'zero_speed' && capacityM(defineScenario(given)) > LARGEST_BUFFER_M)
    given.spliceSpeedMpm = Math.round(speedMpm * 0.5)
  given.spliceMm = spliceMm(defineScenario(given), between(SPARE_WEB.least, SPARE_WEB.most))
  return { name, mapped, substrate, given }
}

/** As people set it: what the stop takes, with something to spare, lies on the roll when the splice begins. */
function spliceMm(s: Scenario, spare: number): number {
  const v = cycleSpeedMps(s)
  const rampMps2 = { zero_speed: s.decelerationMps2, stopped: s.lineRampMps2, flying: Number.POSITIVE_INFINITY }[
    s.method
  ]
  const stopM = v * (s.triggerDelayS + s.filterS + s.jerkS + 0.5) + v ** 2 / (2 * rampMps2)
  const offM = (Math.abs(s.offsetMm) + Math.abs(1 - s.scale) * s.coreMm + 2 * s.outOfRoundMm + 2 * s.noiseMm) / 1000
  const byWebM = diameterOverM(s.coreMm / 1000, spare * stopM, s.caliperUm * 1.05e-6) + offM
  return Math.ceil(Math.max(byWebM * 1000, s.coreMm + OVER_CORE_MM))
}
