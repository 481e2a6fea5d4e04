/** What instruments make of the truth: noise, resolution, offsets, a wave once per turn, values that a PLC computes. */
import type { Random } from './random.ts'
import type { Roll } from './roll.ts'

export const quantised = (value: number, step: number): number => Math.round(value / step) * step

export interface DiameterMakeup {
  /** `distance`: ultrasonic or laser on each spindle. `computed`: by the PLC, from surface speed and turns. */
  kind: 'distance' | 'computed'
  /** Standard deviation of one reading, m. */
  noiseM: number
  resolutionM: number
  scale: number
  /** By spindle, m. */
  offsetM: { A: number; B: number }
}

/** What the sensor sees on a spindle without a roll, m. */
const BARE_CHUCK_M = 0.076
/** Share of readings with somebody's arms in the beam, and what they read, m. */
const ARM_SHARE = 0.3
const ARM_M = [0.15, 0.9] as const

/** A distance sensor over one spindle. */
export const readDistance = (
  makeup: DiameterMakeup,
  spindle: 'A' | 'B',
  roll: Roll | undefined,
  isInTheWay: boolean,
  random: Random,
): number => {
  if (isInTheWay && random.next() < ARM_SHARE) return quantised(random.between(...ARM_M), makeup.resolutionM)
  const seenM = roll ? roll.diameterM + roll.makeup.outOfRoundM * Math.sin(roll.turnedRad) : BARE_CHUCK_M
  const read = seenM * makeup.scale + makeup.offsetM[spindle] + random.normal(makeup.noiseM)
  return quantised(read, makeup.resolutionM)
}

/**
 * D = v_u / (pi n), once a turn. Frozen while the unwind stops and starts for a splice; preset at the roll change to what
 * the operator keyed in, then converging over a few turns.
 */
export class ComputedDiameter {
  valueM: number
  private readonly makeup: DiameterMakeup
  private roll: Roll | undefined
  private turnBeganRad = 0
  private takenAtTurnM = 0

  constructor(makeup: DiameterMakeup, startM: number) {
    this.makeup = makeup
    this.valueM = startM
  }

  preset(keyedInM: number): void {
    this.valueM = quantised(keyedInM, this.makeup.resolutionM)
  }

  update(roll: Roll, isFrozen: boolean, random: Random): void {
    if (isFrozen || roll !== this.roll) this.beginTurn(roll)
    const turns = (roll.turnedRad - this.turnBeganRad) / (2 * Math.PI)
    if (turns < 1) return
    // Surface over turns: a whole turn averages the roll's wave out.
    const surfaceM = roll.takenM - this.takenAtTurnM
    const measured = (surfaceM / (Math.PI * turns)) * this.makeup.scale + random.normal(this.makeup.noiseM)
    const isFar = Math.abs(measured - this.valueM) > 0.01
    // Converges by halves from the preset; follows at once when near.
    const next = isFar ? (measured + this.valueM) / 2 : measured
    this.valueM = quantised(next, this.makeup.resolutionM)
    this.beginTurn(roll)
  }

  private beginTurn(roll: Roll): void {
    this.roll = roll
    this.turnBeganRad = roll.turnedRad
    this.takenAtTurnM = roll.takenM
  }
}

/** Mean of the last few scans: what the splicer's trigger looks at. Fires early, by first passage of the noise. */
export class TriggerReading {
  private readonly scans: number[] = []
  private readonly length: number

  constructor(length: number) {
    this.length = length
  }

  add(readingM: number): number {
    this.scans.push(readingM)
    if (this.scans.length > this.length) this.scans.shift()
    return this.scans.reduce((sum, scan) => sum + scan, 0) / this.scans.length
  }

  clear(): void {
    this.scans.length = 0
  }
}
