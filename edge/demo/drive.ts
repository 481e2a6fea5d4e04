/** The line's main drive: follows its setpoint with ramps, stops faster when it has to. */
export interface DriveMakeup {
  /** m/s2. */
  rampUpMps2: number
  rampDownMps2: number
  fastStopMps2: number
}

export class Drive {
  readonly makeup: DriveMakeup
  speedMps: number
  setpointMps: number
  private stopsFast = false

  constructor(makeup: DriveMakeup, speedMps: number) {
    this.makeup = makeup
    this.speedMps = speedMps
    this.setpointMps = speedMps
  }

  /** A new setpoint ends a fast stop. */
  goTo(setpointMps: number): void {
    this.setpointMps = setpointMps
    this.stopsFast = false
  }

  stopFast(): void {
    this.stopsFast = true
  }

  get targetMps(): number {
    return this.stopsFast ? 0 : this.setpointMps
  }

  step(dtS: number): void {
    const target = this.targetMps
    const rate =
      target > this.speedMps
        ? this.makeup.rampUpMps2
        : this.stopsFast
          ? this.makeup.fastStopMps2
          : this.makeup.rampDownMps2
    this.speedMps = towards(this.speedMps, target, rate * dtS)
  }
}

/** `value` moved towards `target` by at most `step`. */
export const towards = (value: number, target: number, step: number): number =>
  Math.abs(target - value) <= step ? target : value + Math.sign(target - value) * step

export const clamp = (value: number, low: number, high: number): number => Math.min(high, Math.max(low, value))
