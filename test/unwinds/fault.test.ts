/** One pipeline fails: what its unwind says, and that the others don't notice. */
import { afterEach, describe, expect, test, vi } from 'vitest'
import { UnwindPipeline } from '../../edge/pipeline.ts'
import { Bench } from './bench.ts'

type Method = 'step' | 'accept' | 'view' | 'forecast' | 'snapshot' | 'salvage'

/** Makes one method of one unwind's pipelines throw, as long as `isBroken` says so; restored ones included. */
function breakPipeline(id: string, method: Method, isBroken: () => boolean = () => true): void {
  const sound = UnwindPipeline.prototype[method] as (...given: unknown[]) => unknown
  vi.spyOn(UnwindPipeline.prototype, method).mockImplementation(function (this: UnwindPipeline, ...given: unknown[]) {
    if (this.config.id === id && isBroken()) throw new Error(`${method} went wrong`)
    return sound.apply(this, given) as never
  })
}

const once = (): (() => boolean) => {
  let isLeft = true
  return () => {
    const was = isLeft
    isLeft = false
    return was
  }
}

afterEach(() => vi.restoreAllMocks())

describe('a pipeline that throws once', () => {
  test('is unknown with a reason, raises pipeline_fault, and goes on from what it knew', () => {
    const bench = new Bench().begin().run(60)
    const before = bench.view('press')
    const others = bench.view('coater')
    expect(before.state).toBe('running')
    breakPipeline('press', 'step', once())
    bench.run(0.1)
    const failed = bench.view('press')
    expect(failed).toMatchObject({ state: 'unknown', seconds_to_splice: null, metres_to_splice: null, diameter: null })
    expect(failed.reason).toBe('The calculation failed and was restarted: step went wrong')
    expect(failed.alarms.map(({ alarm, priority }) => [alarm, priority])).toContainEqual(['pipeline_fault', 'high'])
    expect(failed.alarms[0]?.text).toMatch(/step went wrong/)
    expect(bench.view('coater')).toMatchObject({ state: 'running', alarms: others.alarms, reason: null })
    bench.run(10)
    const after = bench.view('press')
    expect(after).toMatchObject({ state: 'running', reason: null })
    // 10.1 s of running later, within what a snapshot of at most 10 s ago leaves open.
    expect(after.seconds_to_splice).toBeGreaterThan((before.seconds_to_splice ?? 0) - 10.1 - 2)
    expect(after.seconds_to_splice).toBeLessThan((before.seconds_to_splice ?? 0) - 10.1 + 2)
    bench.run(90)
    expect(bench.events('pipeline_fault')).toEqual(['raised', 'cleared'])
    expect(bench.faults).toEqual(['press: step went wrong'])
  })

  test('loses nothing that a tag said since the snapshot: it would not be said again', () => {
    const bench = new Bench().begin().run(61)
    bench.say('press_gateway', 'press/ready', false)
    bench.run(3)
    expect(bench.view('press').new_roll_ready).toBe(false)
    breakPipeline('press', 'step', once())
    bench.run(6)
    expect(bench.view('press')).toMatchObject({ new_roll_ready: false, nominal_caliper: 80, state: 'running' })
  })

  test('tells no alarm twice that was told before the fault', () => {
    const bench = new Bench().begin().run(61)
    bench.say('press_gateway', 'press/speed', undefined, { quality: 'bad', tMs: bench.tMs + 1 })
    bench.silent.add('press_gateway')
    bench.run(2)
    expect(bench.events('source_lost')).toEqual(['raised'])
    breakPipeline('press', 'step', once())
    bench.run(20)
    expect(bench.events('source_lost').filter((event) => event === 'raised')).toHaveLength(1)
  })

  test.each(['accept', 'view', 'forecast', 'snapshot'] as const)('in %s is caught as well', (method) => {
    const bench = new Bench().begin().run(60)
    breakPipeline('press', method, once())
    bench.unwinds.snapshots()
    bench.run(0.1)
    bench.unwinds.forecasts(bench.tMs)
    expect(bench.view('press').state).toBe('unknown')
    expect(bench.view('press').reason).toContain(`${method} went wrong`)
    expect(bench.view('coater').state).toBe('running')
    bench.run(10)
    expect(bench.view('press').state).toBe('running')
  })

  test('before it has any snapshot starts anew', () => {
    const bench = new Bench().begin()
    breakPipeline('press', 'step', once())
    bench.run(30)
    expect(bench.view('press').state).toBe('running')
    expect(bench.faults).toEqual(['press: step went wrong'])
  })

  test('at a poisoned value is caught where the value is read', () => {
    const bench = new Bench().begin().run(30)
    const poison = {
      source: 'press_gateway',
      address: 'press/speed',
      quality: 'good' as const,
      tMs: bench.tMs,
      arrivalTMs: bench.tMs,
      get value(): number {
        throw new Error('poison')
      },
    }
    expect(() => bench.unwinds.accept(poison)).not.toThrow()
    expect(bench.faults).toEqual(['press: poison'])
    expect(bench.view('coater').state).toBe('running')
  })
})

describe('a pipeline that throws for ever', () => {
  test.each(['step', 'accept'] as const)('in %s stays unknown, with one alarm and a log that is no flood', (method) => {
    const bench = new Bench().begin().run(60)
    breakPipeline('press', method)
    bench.run(50)
    expect(bench.view('press')).toMatchObject({ state: 'unknown', seconds_to_splice: null })
    expect(bench.view('press').reason).toContain('went wrong')
    expect(bench.events('pipeline_fault')).toEqual(['raised'])
    expect(bench.faults).toEqual([`press: ${method} went wrong`])
    expect(bench.view('coater')).toMatchObject({ state: 'running', reason: null })
    bench.run(20)
    // Once a minute it is said again.
    expect(bench.faults).toHaveLength(2)
  })

  test('and whose values can not be saved either, starts bare', () => {
    const bench = new Bench().begin().run(60)
    breakPipeline('press', 'salvage')
    breakPipeline('press', 'step', once())
    bench.run(0.1)
    expect(bench.view('press').state).toBe('unknown')
    bench.run(20)
    expect(bench.view('press').state).toBe('running')
  })
})

describe('snapshots', () => {
  const grown = (): { unwind: string; data: unknown }[] => new Bench().begin().run(60).unwinds.snapshots()

  test.each([
    ['nothing', null],
    ['text', 'rubbish'],
    ['an empty record', {}],
    ['one without its signals', { version: 1 }],
    ['one of another version', { ...(grown()[0]?.data as object), version: 99 }],
    ['one cut short', { ...(grown()[0]?.data as object), parts: { alarms: { tMs: 5 } } }],
  ])('that are %s cost what was known, never the start', (_, data) => {
    const bench = new Bench()
    expect(() => bench.unwinds.restore('press', data)).not.toThrow()
    expect(bench.faults[0]).toMatch(/^press: its snapshot can't be restored \(.+\), it starts anew$/)
    bench.begin().run(30)
    expect(bench.view('press').state).toBe('running')
    expect(bench.view('coater').state).toBe('running')
  })

  test('of an unwind that the config does not have any more are left alone', () => {
    const bench = new Bench()
    bench.unwinds.restore('gone', { version: 1 })
    expect(bench.faults).toEqual([])
  })

  test('survive the way through JSON, and the countdown is there with the first step', () => {
    const before = new Bench().begin().run(60)
    const after = new Bench()
    for (const { unwind, data } of before.unwinds.snapshots()) {
      after.unwinds.restore(unwind, JSON.parse(JSON.stringify(data)))
    }
    after.tMs = before.tMs
    expect(after.run(0.5).view('press').seconds_to_splice).toBeCloseTo(
      before.run(0.5).view('press').seconds_to_splice!,
      1,
    )
  })
})
