/**
 * The web store between unwind and process: dS/dt = v_u - v, and S = k x H with k strands that lengthen with a
 * carriage of travel H.
 */
export interface FestoonMakeup {
  /** Strands that lengthen with the carriage: twice its rollers. */
  strands: number
  travelM: number
  mode: 'fill_before' | 'rides_full'
  /** Share of the travel, 0 empty to 1 full. */
  runningShare: number
  fillShare: number
  /** Where a limit switch stops the line. */
  tripShare: number
}

export class Festoon {
  readonly makeup: FestoonMakeup
  readonly capacityM: number
  storedM: number
  private switchArmed = true

  constructor(makeup: FestoonMakeup) {
    this.makeup = makeup
    this.capacityM = makeup.strands * makeup.travelM
    this.storedM = makeup.runningShare * this.capacityM
  }

  /** Carriage position, 0 empty to 1 full. */
  get share(): number {
    return this.storedM / this.capacityM
  }

  get runningM(): number {
    return this.makeup.runningShare * this.capacityM
  }

  get fillM(): number {
    return this.makeup.fillShare * this.capacityM
  }

  /** True where the carriage is on the limit switch; after a trip only once the carriage had left it again. */
  get hasTripped(): boolean {
    return this.switchArmed && this.share <= this.makeup.tripShare
  }

  /**
   * Takes what came from the unwind and gives what the process wants; returns what the process got, m. At the carriage's
   * end web doesn't stretch: the process gets no more than there is.
   */
  pass(fromUnwindM: number, wantedM: number): number {
    const givenM = Math.min(wantedM, this.storedM + fromUnwindM)
    this.storedM += fromUnwindM - givenM
    return givenM
  }

  /** The limit switch has done its work: it is looked at again when the carriage is well off it. */
  disarmSwitch(): void {
    this.switchArmed = false
  }

  watchSwitch(): void {
    if (this.share > this.makeup.tripShare + 0.03) this.switchArmed = true
  }
}
