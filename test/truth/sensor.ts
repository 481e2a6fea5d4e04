/** The diameter sensor as the splicer reads it: scale, offset, a wave once per turn, noise, quantisation, faults; then the splicer's filter. */
import { type Random, randomStream } from './random.ts'
import type { Roll } from './roll.ts'
import type { Disturbance, Scenario } from './scenario.ts'

/** What an arm in the beam adds to the reading, mm. */
const ARM_MM = 260

export const during = (list: readonly Disturbance[], kind: Disturbance['kind'], tS: number): boolean => {
  for (const one of list) if (one.kind === kind && tS >= one.fromS && tS < one.toS) return true
  return false
}

/** What the PLC has at hand where it computes the diameter; undefined while the unwind stands. */
export interface Computing {
  linePerUnwind: number | undefined
  isFrozen: boolean
}

/** A PLC shows no larger diameter than this, mm. */
const LARGEST_MM = 1500

export class DiameterSensor {
  /** The newest reading, mm, the splicer's filtered one, and what the tag shows. */
  rawMm = 0
  filteredMm = 0
  shownMm = 0
  /** The turret turns and the sensor sees nothing. */
  isBlind = false
  readonly #scenario: Scenario
  readonly #random: Random
  readonly #pass: number
  #roll: Roll | undefined
  #turn = -1
  #turnsAtChange: number | undefined

  constructor(scenario: Scenario, purpose: string) {
    this.#scenario = scenario
    this.#random = randomStream(scenario.seed, purpose)
    this.#pass = scenario.filterS <= 0 ? 1 : 1 - Math.exp(-scenario.scanMs / 1000 / scenario.filterS)
  }

  /** A reading without noise, quantisation and wave, mm. */
  expectedMm(diameterM: number): number {
    return diameterM * 1000 * this.#scenario.scale + this.#scenario.offsetMm
  }

  scan(roll: Roll, tS: number, isBlind = false, computing?: Computing): void {
    const s = this.#scenario
    const changed = roll !== this.#roll
    if (changed && this.#roll !== undefined) this.#turnsAtChange = roll.turns
    const turn = Math.floor(roll.turns)
    const isNewTurn = changed || turn !== this.#turn
    this.isBlind = isBlind
    const isStuck = isBlind || during(s.disturbances, 'stuck', tS)
    if (changed || (!isStuck && (!s.oncePerTurn || isNewTurn))) this.#read(roll, tS, changed)
    this.filteredMm = changed ? this.rawMm : this.filteredMm + this.#pass * (this.rawMm - this.filteredMm)
    this.#show(computing, isNewTurn)
    this.#roll = roll
    this.#turn = turn
  }

  #read(roll: Roll, tS: number, changed: boolean): void {
    const s = this.#scenario
    const wave = s.outOfRoundMm === 0 ? 0 : s.outOfRoundMm * Math.cos(2 * Math.PI * roll.turns)
    const arm = during(s.disturbances, 'arm', tS) ? ARM_MM : 0
    let reading = this.expectedMm(roll.diameterM) + wave + arm + s.noiseMm * this.#random.normal()
    if (s.presetMm !== undefined && this.#turnsAtChange !== undefined) {
      const share = Math.exp(-(roll.turns - this.#turnsAtChange) / s.convergeTurns)
      reading += (s.presetMm - reading) * share
    }
    const rounded = s.quantumMm > 0 ? Math.round(reading / s.quantumMm) * s.quantumMm : reading
    this.rawMm = s.onlyFalls && !changed ? Math.min(this.rawMm, rounded) : rounded
  }

  #show(computing: Computing | undefined, isNewTurn: boolean): void {
    if (this.isBlind && this.#scenario.blindBy === 'zero') this.shownMm = 0
    else if (computing === undefined) this.shownMm = this.rawMm
    else if (computing.isFrozen) return
    else if (computing.linePerUnwind === undefined) this.shownMm = 0
    else if (isNewTurn || this.shownMm === 0) this.shownMm = Math.min(LARGEST_MM, this.rawMm * computing.linePerUnwind)
  }
}
