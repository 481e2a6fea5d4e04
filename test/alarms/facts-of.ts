import type { AlarmFacts } from '../../edge/alarms/facts.ts'

/** Day 0 of the tests: 2026-03-02T06:00:00Z. */
export const START_TMS = Date.UTC(2026, 2, 2, 6)

/** A line that runs well at 300 m/min with the splice ten minutes away, except for what a test states. */
export const factsOf = (stated: Partial<AlarmFacts> = {}): AlarmFacts => ({
  tMs: START_TMS,
  state: 'running',
  isProducing: true,
  lineSpeedMps: 5,
  lineRampMps2: 0.33,
  secondsToSplice: 610,
  secondsLow: 600,
  metresToSplice: 3000,
  fillLeadS: 20,
  newRollReady: true,
  isReadyUnknown: false,
  splicerAuto: true,
  spliceFault: false,
  webBreak: false,
  preparationS: 240,
  nextRoll: { isRefused: false, usualS: 240, leastS: 190 },
  isLastRoll: false,
  wrongRoll: undefined,
  storedM: 7.5,
  bufferMarginM: 6,
  bufferNeededM: 20,
  reserveM: 1,
  highestSpeedMps: 5.6,
  fillShortM: undefined,
  fillOverdueS: undefined,
  tension: { value: 100, setpoint: 100 },
  spliceDiameterM: 0.13,
  diameterM: 0.6,
  coreDiameterM: 0.1,
  diameterNoiseM: 0.0005,
  overdueS: undefined,
  lastSplice: undefined,
  refill: undefined,
  diameterFault: undefined,
  notResetS: undefined,
  sinceRollChange: { seconds: 1000, turns: 5000 },
  lost: [],
  caliper: { valueM: 81e-6, sdM: 0.2e-6, labelM: 80e-6 },
  disagreement: undefined,
  spindleUnit: undefined,
  outOfRound: { amplitudeM: 0.2e-3, sdM: 0.05e-3, limitM: 3e-3 },
  trend: undefined,
  joints: { unconfirmed: undefined, sideLay: undefined, decurler: undefined },
  waste: { avoidableM: 5, leftM: 60, limitM: 20, isLearned: true },
  pipelineFault: undefined,
  ...stated,
})

/** Facts at a time left until the fill begins, s; the interval's low end is what counts. */
export const leftS = (seconds: number, stated: Partial<AlarmFacts> = {}): AlarmFacts => {
  const fillLeadS = stated.fillLeadS ?? 20
  const low = seconds + fillLeadS
  return factsOf({ secondsLow: low, secondsToSplice: low * 1.05, metresToSplice: low * 1.05 * 5, ...stated })
}

/** A signal of the PLC that has no value, since so many seconds. */
export const lostSignal = (signal: string, seconds = 3, hasSpoken = true): AlarmFacts['lost'][number] => ({
  signal,
  source: 'line_plc',
  address: `ns=2;s=${signal}`,
  seconds,
  hasSpoken,
})
