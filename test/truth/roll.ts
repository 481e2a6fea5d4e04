/** A roll as geometry: its side area loses caliper × length as web is taken off. Metres, square metres. */
export interface RollData {
  id: string
  /** Web on the roll outside its core, when it was loaded. */
  lengthM: number
  coreM: number
  caliperM: number
  /** Where rolls differ in width, m. */
  widthM?: number
  /** Caliper rises by this share from the outside to the core, the mean staying. */
  drift: number
  /** What else the caliper does on its way in, shares, at even steps from the outside to the core. */
  wander?: readonly number[]
}

const circleM2 = (diameterM: number): number => (Math.PI * diameterM * diameterM) / 4

export class Roll {
  readonly data: RollData
  readonly #coreM2: number
  #areaM2: number
  #takenM = 0
  #turns = 0
  #diameterM: number

  constructor(data: RollData) {
    this.data = data
    this.#coreM2 = circleM2(data.coreM)
    this.#areaM2 = this.#coreM2 + data.lengthM * data.caliperM
    this.#diameterM = Math.sqrt((4 * this.#areaM2) / Math.PI)
  }

  get diameterM(): number {
    return this.#diameterM
  }
  /** Turns since it was loaded. */
  get turns(): number {
    return this.#turns
  }
  get takenM(): number {
    return this.#takenM
  }
  get leftM(): number {
    return Math.max(0, this.data.lengthM - this.#takenM)
  }
  get isEmpty(): boolean {
    return this.#takenM >= this.data.lengthM
  }

  #wanderAt(share: number): number {
    const { wander } = this.data
    if (wander === undefined) return 0
    const at = share * (wander.length - 1)
    const i = Math.min(wander.length - 2, Math.floor(at))
    return wander[i]! + (at - i) * (wander[i + 1]! - wander[i]!)
  }

  /** Takes web off; returns what really came (less than asked where the roll ends). */
  take(lengthM: number): number {
    const came = Math.min(lengthM, this.data.lengthM - this.#takenM)
    if (came <= 0) return 0
    const middle = (this.#takenM + came / 2) / this.data.lengthM
    const caliper = this.data.caliperM * (1 + this.data.drift * (middle - 0.5) + this.#wanderAt(middle))
    const before = this.#diameterM
    this.#takenM += came
    this.#areaM2 = Math.max(this.#coreM2, this.#areaM2 - caliper * came)
    this.#diameterM = Math.sqrt((4 * this.#areaM2) / Math.PI)
    // Turns over a spiral: the mean of both diameters is exact.
    this.#turns += (2 * came) / (Math.PI * (before + this.#diameterM))
    return came
  }
}

/** Web between two diameters, m: π(D² − d²)/(4t). */
export const webBetweenM = (outerM: number, innerM: number, caliperM: number): number =>
  (circleM2(outerM) - circleM2(innerM)) / caliperM

/** Diameter with so much web over the inner diameter, m. */
export const diameterOverM = (innerM: number, webM: number, caliperM: number): number =>
  Math.sqrt(innerM * innerM + (4 * caliperM * webM) / Math.PI)
