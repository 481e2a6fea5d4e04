import { describe, expect, it } from 'vitest'
import { Festoon } from '../../edge/demo/festoon.ts'
import { diameterWithWebM, discAreaM2, Roll, webBetweenM } from '../../edge/demo/roll.ts'
import { type SplicerView, ZeroSpeedSplicer } from '../../edge/demo/splicer.ts'

const roll = (outerDiameterM: number, coreDiameterM: number, caliperM: number, caliperDrift = 0): Roll =>
  new Roll({
    id: 'test',
    material: 'test',
    outerDiameterM,
    coreDiameterM,
    caliperM,
    caliperDrift,
    outOfRoundM: 0,
  })

describe('a roll', () => {
  it('holds the published length and wraps', () => {
    // algebra.com question 1205007: D 60 cm, d 8 cm, t 0.005 cm hold 5554.34 m; wraps (D - d) / 2t = 5200 (Ask Dr. Math 67031).
    expect(webBetweenM(0.6, 0.08, 50e-6)).toBeCloseTo(5554.34, 2)
    const unwinding = roll(0.6, 0.08, 50e-6)
    while (!unwinding.isEmpty && unwinding.take(0.05) > 0);
    expect(unwinding.takenM).toBeCloseTo(5554.34, 2)
    // Steps of 5 cm turn each a little too few: 1e-4 of the turns.
    expect(unwinding.turnedRad / (2 * Math.PI)).toBeCloseTo(5200, 0)
  })

  it.each([
    // D mm, d mm, t µm, m: calculated in the reference values from L = pi (D² - d²) / 4t.
    [1000, 76.2, 100, 7808.378],
    [1000, 152.4, 100, 7671.567],
    [1200, 152.4, 80, 13_909.149],
    [800, 76.2, 25, 19_923.778],
  ])('from %s mm to %s mm at %s µm are %s m', (outerMm, coreMm, caliperUm, lengthM) => {
    expect(webBetweenM(outerMm / 1000, coreMm / 1000, caliperUm / 1e6)).toBeCloseTo(lengthM, 3)
    expect(diameterWithWebM(coreMm / 1000, lengthM, caliperUm / 1e6)).toBeCloseTo(outerMm / 1000, 6)
  })

  it('loses caliper times length of area, and gives no more than it has', () => {
    const given = roll(0.3, 0.1, 80e-6)
    const before = given.sideAreaM2
    for (let step = 0; step < 1000; step++) given.take(0.04)
    expect(before - given.sideAreaM2).toBeCloseTo(40 * 80e-6, 12)
    expect(given.take(1e6)).toBeLessThan(1000)
    expect(given.diameterM).toBeCloseTo(0.1, 9)
    expect(given.take(1)).toBe(0)
  })

  it('gets thicker or thinner towards the core as its drift says', () => {
    const drifting = roll(0.3, 0.1, 80e-6, 0.01)
    expect(drifting.caliperM).toBeCloseTo(80e-6, 12)
    while (drifting.take(0.1) > 0);
    expect(drifting.caliperM).toBeCloseTo(80.8e-6, 9)
  })
})

describe('a zero-speed cycle', () => {
  const festoon = () =>
    new Festoon({ strands: 12, travelM: 2.5, mode: 'fill_before', runningShare: 0.3, fillShare: 0.9, tripShare: 0.02 })
  const STEP_S = 0.001

  /** Runs one cycle at 5 m/s from a full festoon; what it took from festoon and from the old roll. */
  const cycle = (stopS: number) => {
    const store = festoon()
    store.storedM = store.fillM
    const splicer = new ZeroSpeedSplicer(
      {
        method: 'zero_speed',
        spliceDiameterM: 0.13,
        stopS,
        decelerationMps2: 2.5,
        accelerationMps2: 1.25,
        overspeed: 0.1,
      },
      store,
      5,
    )
    const view: SplicerView = {
      dtS: STEP_S,
      lineSpeedMps: 5,
      isProducing: true,
      isStanding: false,
      readingM: 0.129,
      labelCaliperM: 80e-6,
      newRollReady: true,
      isAuto: true,
      isPressed: false,
      stopS,
      resets: false,
    }
    expect(splicer.scan(view)).toBe('started')
    const startM = store.storedM
    let oldRollM = 0
    let balanceM = 0
    let hasTransferred = false
    while (splicer.isActive) {
      if (splicer.scan(view) === 'transferred') hasTransferred = true
      const fromUnwindM = splicer.unwindSpeedMps * STEP_S
      if (!hasTransferred) oldRollM += fromUnwindM
      balanceM += fromUnwindM - store.pass(fromUnwindM, 5 * STEP_S)
    }
    return { fallM: startM - store.storedM, balanceM, oldRollM, hasTransferred }
  }

  it('takes v t + v²/2a + v²/2a from the festoon', () => {
    // Reference values, calculated: 5 m/s, 1 s, 2.5 and 1.25 m/s² take 5 + 5 + 10 = 20 m; the old roll gives v²/2a = 5 m.
    const { fallM, balanceM, oldRollM, hasTransferred } = cycle(1)
    expect(fallM).toBeCloseTo(20, 1)
    expect(-balanceM).toBeCloseTo(fallM, 9)
    expect(oldRollM).toBeCloseTo(5, 1)
    expect(hasTransferred).toBe(true)
    expect(cycle(1.4).fallM - fallM).toBeCloseTo(5 * 0.4, 1)
  })
})

describe('a festoon', () => {
  it('stores what comes and does not go, and gives no more than it has', () => {
    const store = new Festoon({
      strands: 12,
      travelM: 1.8,
      mode: 'fill_before',
      runningShare: 0.5,
      fillShare: 0.9,
      tripShare: 0.1,
    })
    // Reference values: k 12 and H 1.8 m hold 21.6 m.
    expect(store.capacityM).toBeCloseTo(21.6, 9)
    expect(store.pass(0, 5)).toBe(5)
    expect(store.storedM).toBeCloseTo(5.8, 9)
    expect(store.hasTripped).toBe(false)
    expect(store.pass(1, 20)).toBeCloseTo(6.8, 9)
    expect(store.storedM).toBeCloseTo(0, 9)
    expect(store.hasTripped).toBe(true)
  })

  it('trips once until the carriage has left the switch', () => {
    const store = new Festoon({
      strands: 10,
      travelM: 1,
      mode: 'rides_full',
      runningShare: 0.05,
      fillShare: 0.9,
      tripShare: 0.1,
    })
    expect(store.hasTripped).toBe(true)
    store.disarmSwitch()
    store.watchSwitch()
    expect(store.hasTripped).toBe(false)
    store.pass(4, 0)
    store.watchSwitch()
    store.pass(0, 4)
    expect(store.hasTripped).toBe(true)
  })
})

it('keeps the side area of a disc', () => {
  expect(discAreaM2(2)).toBeCloseTo(Math.PI, 12)
})
