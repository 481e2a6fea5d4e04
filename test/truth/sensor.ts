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

export class DiameterSensor {
  /** The newest reading, mm, and the splicer's filtered one. */
  rawMm = 0
  filteredMm = 0
  readonly #scenario: Scenario
  readonly #random: Random
  readonly #pass: number
  #roll: Roll | undefined
  #turn = -1

  constructor(scenario: Scenario, purpose: string) {
    this.#scenario = scenario
    this.#random = randomStream(scenario.seed, purpose)
    this.#pass = scenario.filterS <= 0 ? 1 : 1 - Math.exp(-scenario.scanMs / 1000 / scenario.filterS)
  }

  /** A reading without noise, quantisation and wave, mm. */
  expectedMm(diameterM: number): number {
    return diameterM * 1000 * this.#scenario.scale + this.#scenario.offsetMm
  }

  scan(roll: Roll, tS: number): void {
    const s = this.#scenario
    const changed = roll !== this.#roll
    const turn = Math.floor(roll.turns)
    const isStuck = during(s.disturbances, 'stuck', tS)
    if (changed || (!isStuck && (!s.oncePerTurn || turn !== this.#turn))) {
      this.#turn = turn
      const wave = s.outOfRoundMm === 0 ? 0 : s.outOfRoundMm * Math.cos(2 * Math.PI * roll.turns)
      const arm = during(s.disturbances, 'arm', tS) ? ARM_MM : 0
      const reading = this.expectedMm(roll.diameterM) + wave + arm + s.noiseMm * this.#random.normal()
      this.rawMm = s.quantumMm > 0 ? Math.round(reading / s.quantumMm) * s.quantumMm : reading
    }
    this.filteredMm = changed ? this.rawMm : this.filteredMm + this.#pass * (this.rawMm - this.filteredMm)
    this.#roll = roll
  }
}
