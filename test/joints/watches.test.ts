/** Side-lay, register, decurler and the PLC's own count: each on a web whose answer is known by construction. */
import { describe, expect, it } from 'vitest'
import type { StationConfig } from '../../edge/config/config.ts'
import { DecurlerWatch } from '../../edge/joints/decurler-watch.ts'
import { JointTracker } from '../../edge/joints/joint-tracker.ts'
import { RegisterWatch, withinRepeat } from '../../edge/joints/register-watch.ts'
import { SideLayWatch } from '../../edge/joints/side-lay-watch.ts'
import { CountCheck } from '../../edge/outcome/count-check.ts'

/** A repeatable noise between -1 and 1: golden-ratio sequence. */
const noise = (i: number): number => 2 * ((i * 0.618_033_988_75) % 1) - 1

describe('side-lay', () => {
  const run = (oldMm: (webM: number) => number, newMm: number) => {
    const watch = new SideLayWatch({ distanceM: 3, toleranceM: 1e-3 })
    let made = false
    for (let i = 0; i <= 1200; i++) {
      const webM = i * 0.2
      if (!made && webM >= 200) {
        watch.made('press-1', 200)
        made = true
      }
      const mm = webM < 203 ? oldMm(webM) : newMm
      const [result] = watch.step(webM, (mm + 0.1 * noise(i)) / 1000)
      if (result !== undefined) return result.sideLay
    }
    return undefined
  }

  it.each([
    ['both in their place', () => 0.1, 0.2, null],
    ['the new web beside it', () => 0, 2.3, 'new_web'],
    ['the old web beside it', () => -1.6, 0, 'old_web'],
    ['both', () => -1.5, 1.5, 'both_webs'],
    ['an old web that ran off', (webM: number) => Math.max(0, (webM - 103) * 0.02), 0, 'drift'],
  ] as const)('%s', (_name, old, fresh, reason) => {
    const result = run(old, fresh)
    expect(result).toMatchObject({ within: reason === null, reason })
    expect(result?.after).toBeCloseTo(fresh, 1)
    expect(result?.before).toBeCloseTo(old(200), 0)
    expect(result?.step).toBeCloseTo((result?.after ?? 0) - (result?.before ?? 0), 9)
  })

  it('says nothing of a joint whose new web was not read, and goes on from a snapshot', () => {
    const watch = new SideLayWatch({ distanceM: 0, toleranceM: 1e-3 })
    watch.made('press-1', 10)
    for (let webM = 0; webM < 12; webM += 0.2) watch.step(webM, 0)
    const other = new SideLayWatch({ distanceM: 0, toleranceM: 1e-3 })
    other.restore(watch.snapshot())
    expect(other.step(40, undefined)).toEqual(watch.step(40, undefined))
  })
})

describe('register', () => {
  it('an error is within half a repeat', () => {
    expect(withinRepeat(0.3055, 0.305)).toBeCloseTo(0.0005, 12)
    expect(withinRepeat(-0.2, 0.305)).toBeCloseTo(0.105, 12)
  })

  it('counts web and repeats until it stays in register', () => {
    const watch = new RegisterWatch({ distanceM: 12, repeatM: 0.305, toleranceM: 0.5e-3 })
    watch.made('press-1', 100)
    // The joint is at 112 m, 40 mm off; corrected by 2 mm a metre it is within 0.5 mm after 19.75 m.
    for (let webM = 100; webM < 160; webM += 0.05) {
      const [result] = watch.step(webM, webM < 112 ? 0 : Math.max(0, 40e-3 - (webM - 112) * 2e-3))
      if (result === undefined) continue
      expect(result.register.error).toBeCloseTo(39.7, 0)
      expect(result.register.metres).toBeCloseTo(19.75, 0)
      expect(result.register.repeats).toBe(Math.ceil((result.register.metres ?? 0) / 0.305))
      return
    }
    throw new Error('it never came back')
  })

  it('is read from the new web where the joint comes earlier or later than it is counted', () => {
    for (const lateM of [-1.2, -0.4, 0.4, 1.2]) {
      const watch = new RegisterWatch({ distanceM: 12, repeatM: 0.305, toleranceM: 0.5e-3 })
      watch.made('press-1', 100)
      const found = Array.from({ length: 120 }, (_, i) => {
        const webM = 100 + 0.5 * i
        return watch.step(webM, webM < 112 + lateM ? 0 : Math.max(0, 40e-3 - (webM - 112 - lateM) * 2e-3))
      }).flat()
      expect(found[0]?.register.error).toBeGreaterThan(39)
      expect(Math.abs((found[0]?.register.metres ?? 0) - 19.75)).toBeLessThanOrEqual(0.5)
    }
  })

  it('that is right at the joint took no web', () => {
    const watch = new RegisterWatch({ distanceM: 12, repeatM: 0.305, toleranceM: 0.5e-3 })
    watch.made('press-1', 100)
    const found = Array.from({ length: 120 }, (_, i) => watch.step(100 + 0.5 * i, 0.2e-3 * noise(i))).flat()
    expect(found).toMatchObject([{ register: { metres: 0, repeats: 0 } }])
  })

  it('that does not come back is said so', () => {
    const watch = new RegisterWatch({ distanceM: 0, repeatM: 0.3, toleranceM: 0.5e-3 })
    watch.made('press-1', 0)
    const results = Array.from({ length: 600 }, (_, webM) => watch.step(webM, 5e-3)).flat()
    expect(results).toMatchObject([{ id: 'press-1', register: { metres: null, repeats: null } }])
  })
})

describe('finished rolls', () => {
  const STATION: StationConfig = { name: 'Rewinder', distanceM: 40, confirmWithinM: undefined }
  /** At 5 m/s; the joint is made at 100 m and arrives at 140 m, 28 s. */
  const follow = (changes: readonly (readonly [number, string])[], restartAtS = Number.NaN) => {
    let tracker = new JointTracker([STATION])
    for (let i = 0; i <= 400; i++) {
      const tS = i / 10
      if (tS === restartAtS) {
        const next = new JointTracker([STATION])
        next.restore(tracker.snapshot())
        tracker = next
      }
      for (const [atS, id] of changes) if (atS === tS) tracker.windsUp('Rewinder', id, 5 * tS, tS * 1000)
      if (i === 200) tracker.made({ id: 'a', tMs: 20_000, webM: 100, storedM: 0, rollWebM: 100 })
      tracker.step(tS * 1000, 5 * tS, 5)
    }
    return tracker.joints[0]?.stations[0]?.finishedRoll
  }

  it.each([
    [
      'one that was seen to begin',
      [
        [1, 'F1'],
        [16, 'F2'],
      ],
      { id: 'F2', metres: 60 },
    ],
    ['one that began before anybody looked', [[1, 'F1']], { id: 'F1', metres: null }],
    [
      'one that is told of just after the start',
      [
        [1, 'F1'],
        [6, 'F2'],
      ],
      { id: 'F2', metres: null },
    ],
    [
      'none between two',
      [
        [1, 'F1'],
        [16, ''],
        [30, 'F2'],
      ],
      null,
    ],
    [
      'the one before, where the next begins behind it',
      [
        [1, 'F1'],
        [16, 'F2'],
        [28.5, 'F3'],
      ],
      { id: 'F2', metres: 60 },
    ],
  ] as const)('%s', (_name, changes, expected) => expect(follow(changes)).toEqual(expected))

  it('one whose tag is told of late, and which the joint is in by the web', () => {
    const tracker = new JointTracker([STATION])
    const at = (tS: number): void => void tracker.step(tS * 1000, 5 * tS, 5)
    for (let i = 0; i <= 290; i++) {
      at(i / 10)
      if (i === 10 || i === 160) tracker.windsUp('Rewinder', `F${i}`, i / 2, i * 100)
      if (i === 200) tracker.made({ id: 'a', tMs: 20_000, webM: 100, storedM: 0, rollWebM: 100 })
    }
    // It began at 27.8 s, 139 m, and was told of at 29 s.
    expect(tracker.windsUp('Rewinder', 'F3', 139, 27_800)).toHaveLength(1)
    expect(tracker.joints[0]?.stations[0]?.finishedRoll).toEqual({ id: 'F3', metres: 1 })
  })

  it('one that began while nobody looked has no metres', () => {
    expect(
      follow(
        [
          [1, 'F1'],
          [16, 'F2'],
        ],
        15.9,
      ),
    ).toEqual({ id: 'F2', metres: null })
    expect(
      follow(
        [
          [1, 'F1'],
          [16, 'F2'],
        ],
        17,
      ),
    ).toEqual({ id: 'F2', metres: 60 })
  })
})

describe('decurler', () => {
  const roll = (watch: DecurlerWatch, position: (diameterM: number) => number, downTo = 0.2): void => {
    watch.rollChanged()
    for (let i = 0; i * 1e-3 < 1 - downTo; i++) {
      const diameterM = 1 - i * 1e-3
      watch.step(diameterM, position(diameterM) + 0.3 * noise(i))
    }
  }
  const follows = (diameterM: number): number => 20 / diameterM

  it('that follows is quiet, one that stands is named, one set to another level is not', () => {
    const watch = new DecurlerWatch()
    for (let n = 0; n < 4; n++) roll(watch, follows)
    expect(watch.standing).toBeUndefined()
    roll(watch, (diameterM) => follows(Math.max(diameterM, 0.5)))
    expect(watch.standing?.position).toBeCloseTo(follows(0.5), 0)
    expect(watch.standing?.expected).toBeGreaterThan(60)
    roll(watch, (diameterM) => follows(diameterM) + 5)
    expect(watch.standing).toBeUndefined()
  })

  it('that never moved has no curve to leave', () => {
    const watch = new DecurlerWatch()
    for (let n = 0; n < 6; n++) roll(watch, () => 40)
    expect(watch.standing).toBeUndefined()
  })
})

describe("the PLC's own count", () => {
  const MINUTE_MS = 60_000
  const run = (counts: readonly (readonly [number, number])[], splices: readonly (readonly [number, boolean])[]) => {
    const check = new CountCheck()
    const events = [
      ...counts.map(([minute, value]) => ({
        tMs: minute * MINUTE_MS,
        do: () => check.count(value, minute * MINUTE_MS),
      })),
      ...splices.map(([minute, hasTransfer]) => ({
        tMs: minute * MINUTE_MS,
        do: () => check.seen(minute * MINUTE_MS, !hasTransfer),
      })),
    ].sort((a, b) => a.tMs - b.tMs)
    const found = events.flatMap((event) => {
      event.do()
      return check.step(event.tMs)
    })
    return [...found, ...check.step(1e9)].map(({ tMs, kind }) => [tMs / MINUTE_MS, kind])
  }

  it.each([
    [
      'agrees',
      [
        [0, 41],
        [10, 42],
        [21, 43],
      ],
      [
        [10.2, true],
        [20.5, true],
      ],
      [],
    ],
    [
      'rose without a splice',
      [
        [0, 41],
        [10, 42],
        [21, 43],
      ],
      [[20.5, true]],
      [[10, 'counted']],
    ],
    [
      'did not rise',
      [
        [0, 41],
        [21, 42],
      ],
      [
        [10, true],
        [20.5, true],
      ],
      [[10, 'seen']],
    ],
    [
      'starts anew',
      [
        [0, 99],
        [10, 0],
        [21, 1],
      ],
      [[20.5, true]],
      [],
    ],
    [
      'was set by a person',
      [
        [0, 41],
        [10, 5000],
      ],
      [],
      [],
    ],
    [
      'counts aborted attempts too',
      [
        [0, 41],
        [10, 42],
        [12, 43],
      ],
      [
        [10, false],
        [12, true],
      ],
      [],
    ],
    [
      'does not count them',
      [
        [0, 41],
        [12, 42],
      ],
      [
        [10, false],
        [12, true],
      ],
      [],
    ],
    [
      'skipped one between two reports',
      [
        [0, 41],
        [12, 43],
      ],
      [
        [10, true],
        [12, true],
      ],
      [],
    ],
  ] as const)('%s', (_name, counts, splices, expected) => {
    expect(run(counts, splices)).toEqual(expected)
  })

  it('says nothing of a time that nobody saw', () => {
    const check = new CountCheck()
    check.count(41, 0)
    check.gap()
    check.count(44, 60 * MINUTE_MS)
    expect(check.step(120 * MINUTE_MS)).toEqual([])
  })
})
