/**
 * The charts of a splicer against invented splices whose physics they do not know (test/bench/trends-plant.ts). A cheap part of
 * `npm run bench:trends`, which counts over 100,000 splices.
 */
import { describe, expect, it } from 'vitest'
import type { TrendSplice } from '../../edge/trends/metrics.ts'
import { TrendWatch } from '../../edge/trends/trend-watch.ts'
import { plantSplices } from '../bench/trends-plant.ts'
import { falseCalls, splicesToCall } from '../bench/trends-runs.ts'

describe('the charts of a splicer', () => {
  it('stay quiet while nothing drifts, and call a stop that grows by 5 % in 100 splices within 120', () => {
    // One is expected of 2000; five or more would come by chance once in 250 times.
    expect(falseCalls([{ seed: 11, splices: 2000 }]).calls).toBeLessThan(5)
    const drift = { perSplice: 0.0005, from: 100 }
    const found = [21, 22, 23, 24, 25, 26, 27, 28].map((seed) => splicesToCall({ seed, splices: 220, drift }))
    expect(found.filter((splice) => splice !== undefined && splice <= 120).length).toBeGreaterThanOrEqual(7)
  })

  it('name the side that drifts alone, since when, and by how much', () => {
    const watch = new TrendWatch()
    for (const splice of plantSplices({ seed: 31, splices: 600, drift: { perSplice: 0.0008, from: 300, side: 'B' } })) {
      watch.add(splice)
    }
    const stop = watch.standing().find(({ metric }) => metric === 'stop')!
    const own = watch.chart({ metric: 'stop', side: 'B' })!
    expect(own.call?.way).toBe('up')
    expect(stop.kind).toBe('drift')
    // 300 splices at 0.08 % each; the newest ten or so lag a little.
    expect(Math.exp(own.recentShift) - 1).toBeGreaterThan(0.15)
    expect(Math.exp(own.recentShift) - 1).toBeLessThan(0.26)
    expect(own.call!.sinceTMs).toBeGreaterThanOrEqual(250 * 24 * 60_000)
  })

  it('call a step at once, keep what is usual meanwhile, and are quiet after a service that helped', () => {
    const watch = new TrendWatch()
    const all = [...plantSplices({ seed: 41, splices: 330 })]
    const slower = ({ values, ...rest }: TrendSplice): TrendSplice => ({
      ...rest,
      values: { ...values, stop: values.stop! * 1.2 },
    })
    const calledAfter = (splices: TrendSplice[]) =>
      splices.findIndex((splice) => watch.add(splice).some(({ metric, called }) => metric === 'stop' && called))
    expect(calledAfter(all.slice(0, 200))).toBe(-1)
    const after = calledAfter(all.slice(200, 230).map(slower))
    expect(after).toBeGreaterThanOrEqual(0)
    expect(after).toBeLessThan(10)
    const chart = watch.chart({ metric: 'stop', side: undefined })!
    const usual = chart.usual!.level
    watch.serviced('knife')
    expect(watch.standing()).toEqual([])
    expect(calledAfter(all.slice(230))).toBe(-1)
    expect(Math.abs(chart.usual!.level - usual)).toBeLessThan(0.01)
  })

  it('go on as if nobody had come, once all that was done in a visit is taken back', () => {
    const all = [...plantSplices({ seed: 41, splices: 300, drift: { perSplice: 0.001, from: 120 } })]
    const [left, seenTo] = [new TrendWatch(), new TrendWatch()]
    for (const splice of all.slice(0, 260)) for (const watch of [left, seenTo]) watch.add(splice)
    const before = left.standing()
    expect(before.map(({ metric }) => metric)).toContain('stop')
    for (const service of ['knife', 'tape']) seenTo.serviced(service)
    for (const splice of all.slice(260, 263).map((one) => slower(one, 1.4))) {
      for (const watch of [left, seenTo]) watch.add(splice)
    }
    expect(seenTo.standing()).toEqual([])
    seenTo.serviceTakenBack('vacuum_filter')
    seenTo.serviceTakenBack('knife')
    expect(seenTo.standing()).toEqual([])
    const again = new TrendWatch()
    again.restore(JSON.parse(JSON.stringify(seenTo.snapshot())))
    again.serviceTakenBack('tape')
    const stop = (watch: TrendWatch) =>
      watch.standing().find(({ metric, side }) => metric === 'stop' && side === undefined)
    expect(stop(again)).toEqual(stop(left))
    const shift = (watch: TrendWatch) => watch.chart({ metric: 'stop', side: undefined })!.recentShift
    // Three splices were learned as usual meanwhile.
    expect(shift(again) / shift(left)).toBeCloseTo(1, 1)
    // An earlier visit than the last one is over.
    again.serviced('knife')
    again.add(all[263]!)
    again.serviced('tape')
    again.serviceTakenBack('knife')
    expect(stop(again)).toBeUndefined()
  })

  const slower = (splice: TrendSplice, factor: number): TrendSplice => ({
    ...splice,
    values: { ...splice.values, stop: splice.values.stop! * factor },
  })
  /** What the stop's charts say, by the number of the splice. @param setAt - number of the first splice after the setting. */
  const saidAround = (seed: number, setAt: number, change: (splice: TrendSplice, i: number) => TrendSplice) => {
    const watch = new TrendWatch()
    const said: { at: number; called: boolean; signals: string[] }[] = []
    for (const [i, splice] of [...plantSplices({ seed, splices: 330 })].entries()) {
      if (i === setAt) watch.settingChanged('extra.press_time', splice.tMs)
      for (const { metric, called, bySetting } of watch.add(change(splice, i))) {
        if (metric !== 'stop' || (called === undefined && bySetting === undefined)) continue
        said.push({ at: i, called: called !== undefined, signals: bySetting?.signals ?? [] })
      }
    }
    return { said, watch }
  }

  it.each([41, 42, 43, 44, 45])('name a step right after a setting changed, and warn of nothing (seed %i)', (seed) => {
    const { said, watch } = saidAround(seed, 200, (splice, i) => (i < 200 ? splice : slower(splice, 1.2)))
    expect(said.filter(({ called }) => called)).toEqual([])
    const [first] = said
    expect(first?.signals).toEqual(['extra.press_time'])
    expect(first!.at - 200).toBeLessThan(12)
    expect(watch.standing().filter(({ metric }) => metric === 'stop')).toEqual([])
    // The chart has learned the new level.
    const level = watch.chart({ metric: 'stop', side: undefined })!.usual!.level
    const { watch: without } = saidAround(seed, 200, (splice) => splice)
    const before = without.chart({ metric: 'stop', side: undefined })!.usual!.level
    expect(Math.exp(level - before)).toBeGreaterThan(1.15)
    expect(Math.exp(level - before)).toBeLessThan(1.25)
  })

  it.each([
    ['long before it', 110, 200],
    ['when it was under way', 206, 200],
    ['after it was called', 230, 200],
  ])('warn of a step where the setting changed %s', (_name, setAt, from) => {
    const { said } = saidAround(41, setAt, (splice, i) => (i < from ? splice : slower(splice, 1.2)))
    expect(said[0]).toMatchObject({ called: true, signals: [] })
  })

  it('warn of a drift that a setting happened to come before', () => {
    const drifts = [21, 22, 23, 24, 25, 26, 27, 28].map(
      (seed) => saidAround(seed, 150, (splice, i) => slower(splice, 1 + 0.001 * Math.max(0, i - 150))).said[0],
    )
    expect(drifts.filter((one) => one?.called === true).length).toBeGreaterThanOrEqual(7)
  })

  it('stay quiet over settings that do nothing', () => {
    let calls = 0
    let bySetting = 0
    for (const seed of [71, 72]) {
      const watch = new TrendWatch()
      for (const [i, splice] of [...plantSplices({ seed, splices: 1000 })].entries()) {
        if (i % 25 === 0) watch.settingChanged('tension_setpoint', splice.tMs)
        for (const answer of watch.add(splice)) {
          if (answer.called !== undefined) calls += 1
          if (answer.bySetting !== undefined) bySetting += 1
        }
      }
    }
    // One is expected of 2000; five or more would come by chance once in 250 times.
    expect(calls + bySetting).toBeLessThan(5)
  })

  it('learn anew what a person takes as usual from now on', () => {
    const watch = new TrendWatch()
    const all = [...plantSplices({ seed: 51, splices: 400 })]
    for (const splice of all.slice(0, 200)) watch.add(splice)
    watch.relearn('stop')
    const calls = all
      .slice(200)
      .flatMap((splice) => watch.add({ ...splice, values: { stop: splice.values.stop! * 1.3 } }))
      .filter(({ called }) => called !== undefined)
    expect(calls).toEqual([])
  })

  it('take what is missing or cannot be as no value', () => {
    const watch = new TrendWatch()
    const bare = { side: '', material: '', speedMps: undefined, rollM: undefined, dueM: undefined }
    const answers = watch.add({
      id: 'x',
      tMs: 0,
      ...bare,
      values: { stop: 0, refill: Number.NaN, low_point: 3, preparation: 300 },
    })
    expect(answers.map(({ metric, side }) => [metric, side])).toEqual([['preparation', undefined]])
  })

  it('go on from a snapshot as if nothing had been', () => {
    const all = [...plantSplices({ seed: 61, splices: 260, drift: { perSplice: 0.001, from: 150 } })]
    const [whole, first] = [new TrendWatch(), new TrendWatch()]
    for (const splice of all) whole.add(splice)
    for (const splice of all.slice(0, 170)) first.add(splice)
    const second = new TrendWatch()
    second.restore(JSON.parse(JSON.stringify(first.snapshot())))
    for (const splice of all.slice(170)) second.add(splice)
    expect(second.snapshot()).toEqual(whole.snapshot())
    expect(whole.standing().length).toBeGreaterThan(0)
  })
})
