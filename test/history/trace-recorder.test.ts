import { describe, expect, it } from 'vitest'
import type { SignalPoint } from '../../edge/history/store.ts'
import { TraceRecorder } from '../../edge/history/trace-recorder.ts'

const T = 1_772_431_200_000
const at = (seconds: number, value: number | null, signal = 'line_speed'): SignalPoint => ({
  unwind: 'label_press',
  signal,
  tMs: T + seconds * 1000,
  value,
})

function keptTraces() {
  const traces = new Map<string, SignalPoint[]>()
  const addTrace = (id: string, points: readonly SignalPoint[]): void => {
    traces.set(id, [...(traces.get(id) ?? []), ...points])
  }
  const seconds = (id: string, signal = 'line_speed'): number[] =>
    (traces.get(id) ?? []).filter((one) => one.signal === signal).map(({ tMs }) => (tMs - T) / 1000)
  return { addTrace, traces, seconds }
}

const range = (from: number, to: number): number[] => Array.from({ length: to - from + 1 }, (_, i) => from + i)

describe('a splice', () => {
  it('recognised late has every point from 60 s before its start to 60 s after its end, once', () => {
    const kept = keptTraces()
    const recorder = new TraceRecorder(kept)
    for (let s = 0; s <= 400; s += 1) {
      recorder.push(at(s, s))
      if (s === 205) recorder.begin('a', T + 200_000)
      if (s === 206) recorder.begin('a', T + 200_000)
      if (s === 230) recorder.end('a', T + 228_000)
    }
    expect(kept.seconds('a')).toEqual(range(140, 288))
    expect(recorder.snapshot()).toEqual([])
  })

  it('starts with the value that a slow tag held, though it spoke minutes ago', () => {
    const kept = keptTraces()
    const recorder = new TraceRecorder(kept)
    recorder.push(at(0, 130, 'splice_diameter'))
    recorder.push(at(1, 7, 'tension'))
    recorder.push(at(2, null, 'tension'))
    for (let s = 3; s <= 500; s += 1) recorder.push(at(s, s))
    recorder.push(at(435, 1, 'new_roll_ready'))
    recorder.begin('a', T + 500_000)
    expect(kept.traces.get('a')?.filter(({ tMs }) => tMs < T + 441_000)).toEqual([
      at(440, 130, 'splice_diameter'),
      at(440, 1, 'new_roll_ready'),
      at(440, 440),
    ])
  })

  it('may overlap another of the same unwind: both traces are whole', () => {
    const kept = keptTraces()
    const recorder = new TraceRecorder(kept)
    for (let s = 0; s <= 400; s += 1) {
      recorder.push(at(s, s))
      if (s === 100) recorder.begin('aborted', T + 100_000)
      if (s === 110) recorder.end('aborted', T + 110_000)
      if (s === 130) recorder.begin('good', T + 130_000)
      if (s === 150) recorder.end('good', T + 150_000)
    }
    expect(kept.seconds('aborted')).toEqual(range(40, 170))
    expect(kept.seconds('good')).toEqual(range(70, 210))
  })

  it('takes a late point while it is recorded', () => {
    const kept = keptTraces()
    const recorder = new TraceRecorder(kept)
    for (let s = 0; s <= 100; s += 1) recorder.push(at(s, s))
    recorder.begin('a', T + 100_000)
    recorder.end('a', T + 101_000)
    recorder.push(at(170, 170))
    recorder.push(at(99, 1, 'tension'))
    expect(kept.seconds('a', 'tension')).toEqual([99])
    expect(kept.seconds('a')).not.toContain(170)
  })

  it('that never ends stops its trace by itself', () => {
    const kept = keptTraces()
    const recorder = new TraceRecorder(kept, { longestMs: 120_000 })
    for (let s = 0; s <= 400; s += 1) {
      recorder.push(at(s, s))
      if (s === 100) recorder.begin('a', T + 100_000)
    }
    expect(kept.seconds('a')).toEqual(range(40, 220))
    expect(recorder.snapshot()).toEqual([])
  })
})

it('goes on after a restart and marks the gap', () => {
  const kept = keptTraces()
  const before = new TraceRecorder(kept)
  for (let s = 0; s <= 100; s += 1) before.push(at(s, s))
  before.begin('a', T + 100_000)
  const after = new TraceRecorder(kept)
  for (const trace of before.snapshot()) after.resume(trace, kept.traces.get('a') ?? [])
  for (let s = 105; s <= 300; s += 1) after.push(at(s, s))
  expect(kept.seconds('a')).toEqual([...range(40, 100), 100.001, ...range(105, 300)])
  expect(kept.traces.get('a')?.find(({ tMs }) => tMs === T + 100_001)?.value).toBeNull()
})

it('keeps its memory bounded and counts what no longer fitted', () => {
  const recorder = new TraceRecorder(keptTraces(), { mostPoints: 1000 })
  for (let i = 0; i < 5000; i += 1) recorder.push(at(i / 1000, i))
  expect(recorder.dropped).toBe(4000)
})
