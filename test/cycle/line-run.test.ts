import { describe, expect, it } from 'vitest'
import { LineRun } from '../../edge/cycle/line-run.ts'

/** Speeds in m/s by second, ten reports each; returns the speed that is reckoned with at the end of each second. */
const run = (line: LineRun, fromS: number, speeds: readonly number[]): number[] =>
  speeds.map((mps, index) => {
    for (let tenth = 0; tenth < 10; tenth++) line.step((fromS + index + tenth / 10) * 1000, mps, undefined)
    return line.forecastMps((fromS + index + 0.9) * 1000, undefined) ?? 0
  })
const held = (mps: number, seconds: number): number[] => Array.from({ length: seconds }, () => mps)
const ramp = (from: number, to: number, seconds: number): number[] =>
  Array.from({ length: seconds }, (_, s) => from + ((to - from) * (s + 1)) / seconds)

describe('the speed to forecast at, without a setpoint', () => {
  it('is what the line usually runs at while it starts, also after it was threaded slowly for a while', () => {
    const line = new LineRun()
    run(line, 0, held(7, 30))
    run(line, 30, [...ramp(7, 0, 10), ...held(0, 10), ...held(0.4, 20)])
    const starting = run(line, 70, ramp(0.4, 7, 20))
    for (const mps of starting.slice(1)) expect(mps).toBeCloseTo(7, 1)
    for (const mps of run(line, 90, held(7, 20))) expect(mps).toBeCloseTo(7, 1)
  })
  it('is what the line runs at while it slows, and where it comes up to another speed once that holds', () => {
    const line = new LineRun()
    run(line, 0, held(7, 30))
    const slowing = run(line, 30, ramp(7, 3, 8))
    expect(slowing.at(-1)).toBeLessThan(3.6)
    run(line, 38, held(3, 70))
    expect(run(line, 108, [...ramp(3, 5, 5), ...held(5, 15)]).at(-1)).toBeCloseTo(5, 1)
  })
  it('is the same after a restart in mid-ramp', () => {
    const line = new LineRun()
    run(line, 0, [...held(7, 30), ...held(0.5, 12), ...ramp(0.5, 4, 5)])
    const other = new LineRun()
    other.restore(line.snapshot())
    expect(run(other, 47, [4.5])).toEqual(run(line, 47, [4.5]))
    expect(run(other, 48, [5])[0]).toBeCloseTo(7, 1)
  })
})
