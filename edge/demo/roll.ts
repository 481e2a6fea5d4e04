/**
 * A wound roll. Its side area falls by caliper times web taken: A(s) = A0 - t s. The caliper that the web really
 * has in the roll is not the label's, and drifts along the roll.
 */
export interface RollMakeup {
  id: string
  material: string
  /** Outside of the core, m. */
  coreDiameterM: number
  /** As wound, m. */
  outerDiameterM: number
  /** True caliper in the roll at its outside, m. */
  caliperM: number
  /** Change of the caliper from the outside to the core, share of it (0.01 is 1 %). */
  caliperDrift: number
  /** Out of round: the radius as the sensor sees it swings by this much, m. */
  outOfRoundM: number
}

export const discAreaM2 = (diameterM: number): number => (Math.PI * diameterM * diameterM) / 4

/** Length of web between two diameters, L = pi (D^2 - d^2) / (4 t), m. */
export const webBetweenM = (outerM: number, innerM: number, caliperM: number): number =>
  (discAreaM2(outerM) - discAreaM2(innerM)) / caliperM

/** The diameter that holds `webM` more than `innerM` does, m. */
export const diameterWithWebM = (innerM: number, webM: number, caliperM: number): number =>
  Math.sqrt(innerM * innerM + (4 * webM * caliperM) / Math.PI)

export class Roll {
  readonly makeup: RollMakeup
  private areaM2: number
  /** Turned so far, radians. */
  turnedRad = 0
  /** Web taken so far, m. */
  takenM = 0

  constructor(makeup: RollMakeup) {
    this.makeup = makeup
    this.areaM2 = discAreaM2(makeup.outerDiameterM)
  }

  get diameterM(): number {
    return Math.sqrt((4 * this.areaM2) / Math.PI)
  }

  /** Side area of the wound web and its core, m2. */
  get sideAreaM2(): number {
    return this.areaM2
  }

  get isEmpty(): boolean {
    return this.areaM2 <= discAreaM2(this.makeup.coreDiameterM)
  }

  /** True caliper of the web that leaves the roll now, m. */
  get caliperM(): number {
    const coreM2 = discAreaM2(this.makeup.coreDiameterM)
    const share = (this.areaM2 - coreM2) / (discAreaM2(this.makeup.outerDiameterM) - coreM2)
    return this.makeup.caliperM * (1 + this.makeup.caliperDrift * (1 - share))
  }

  /** Takes web off; returns what the roll really gave (less at its end), m. */
  take(wishM: number): number {
    if (wishM <= 0) return 0
    const caliperM = this.caliperM
    const leftM = (this.areaM2 - discAreaM2(this.makeup.coreDiameterM)) / caliperM
    const givenM = Math.min(wishM, Math.max(0, leftM))
    this.turnedRad += givenM / (this.diameterM / 2)
    this.areaM2 -= caliperM * givenM
    this.takenM += givenM
    return givenM
  }
}
