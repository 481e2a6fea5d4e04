/**
 * The motion of one zero-speed splice, integrated in small steps: what a trace of it looks like.
 * A stand-in for tests and for developing pages; it shares nothing with the daemon's estimators or the demo plant.
 */
export interface Motion {
  /** s after the unwind begins to slow. */
  second: number
  lineSpeedMps: number
  unwindSpeedMps: number
  storedM: number
  diameterM: number
  tensionN: number
  phase: 'run' | 'fill' | 'decelerate' | 'stopped' | 'accelerate' | 'refill'
}

export interface MotionOptions {
  lineSpeedMps: number
  decelerationMps2: number
  stopS: number
  accelerationMps2: number
  /** 0.12 is 12 %. */
  overspeed: number
  runningStoredM: number
  fillStoredM: number
  triggerDiameterM: number
  newDiameterM: number
  caliperM: number
  /** The web parts so many s after the transfer; undefined where it holds. */
  breakAfterS?: number
  /** `missed`: no cycle, the line stops as the roll runs out. `aborted`: the cycle resets and the old roll runs on. */
  goes?: 'missed' | 'aborted'
}

const STEP_S = 0.1
const BEFORE_S = 60
const AFTER_S = 60
const TENSION_N = 180

/** From 60 s before the unwind slows to 60 s after it, ten steps a second. */
export const spliceMotion = (options: MotionOptions): Motion[] => {
  const v = options.lineSpeedMps
  const top = v * (1 + options.overspeed)
  const fillS = (options.fillStoredM - options.runningStoredM) / (top - v)
  // Area falls linearly with web taken: D² = D₀² − 4·t·s/π.
  const webPerArea = (4 * options.caliperM) / Math.PI
  const steps: Motion[] = []
  let stored = options.runningStoredM
  let unwind = v
  let line = v
  // Before the cycle the diameter is the trigger's plus the web that still comes off.
  let areaAhead = 0
  for (let second = -BEFORE_S; second < 0; second += STEP_S) areaAhead += (second > -fillS ? top : v) * STEP_S
  let squared = options.triggerDiameterM ** 2 + webPerArea * areaAhead
  let phase: Motion['phase'] = 'run'
  let stoppedAt = 0
  let begun = false
  let transferred = false
  for (let index = 0; index <= (BEFORE_S + AFTER_S) / STEP_S; index++) {
    const second = Math.round((index * STEP_S - BEFORE_S) * 10) / 10
    const broke = transferred && options.breakAfterS !== undefined && second > stoppedAt + options.breakAfterS
    if (options.goes === 'missed' && second >= 0) {
      begun = true
      phase = 'run'
      line = unwind = Math.max(0, line - options.decelerationMps2 * STEP_S)
    }
    if (broke) line = Math.max(0, line - 4 * STEP_S)
    if (second < -fillS) phase = 'run'
    else if (second < 0) phase = 'fill'
    else if (!begun) {
      begun = true
      phase = 'decelerate'
    }
    if (phase === 'fill') unwind = stored < options.fillStoredM ? top : v
    if (phase === 'decelerate') {
      unwind = Math.max(0, unwind - options.decelerationMps2 * STEP_S)
      if (unwind === 0) {
        phase = 'stopped'
        stoppedAt = second
      }
    } else if (phase === 'stopped' && second >= stoppedAt + options.stopS) {
      phase = 'accelerate'
      transferred = true
      if (options.goes !== 'aborted') squared = options.newDiameterM ** 2
    }
    if (phase === 'accelerate' || phase === 'refill') {
      const aim = broke ? 0 : stored < options.runningStoredM ? top : v
      const change = (aim < unwind ? options.decelerationMps2 : options.accelerationMps2) * STEP_S
      unwind = aim < unwind ? Math.max(aim, unwind - change) : Math.min(aim, unwind + change)
      if (unwind >= v) phase = 'refill'
      if (phase === 'refill' && stored >= options.runningStoredM) phase = 'run'
    }
    stored = Math.min(options.fillStoredM, Math.max(0, stored + (unwind - line) * STEP_S))
    squared -= webPerArea * unwind * STEP_S
    // Noise without a random source, so that every run draws the same trace.
    const ripple = Math.sin(index * 12.9898) * Math.sin(index * 4.1414)
    steps.push({
      second,
      lineSpeedMps: line,
      unwindSpeedMps: unwind,
      storedM: stored,
      diameterM: Math.round((Math.sqrt(squared) + ripple * 0.0006) * 1e4) / 1e4,
      tensionN: broke ? 0 : TENSION_N + 12 * ripple + (phase === 'decelerate' ? -20 : phase === 'accelerate' ? 25 : 0),
      phase,
    })
  }
  return steps
}
