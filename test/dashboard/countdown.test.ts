import { describe, expect, it } from 'vitest'
import { Countdown, type Reading } from '../../dashboard/live/countdown.ts'

const reading = (atMs: number, seconds: number, more: Partial<Reading> = {}): Reading => ({
  atMs,
  seconds,
  metres: seconds * 5,
  lineSpeed: 300,
  ...more,
})

/** Runs `seconds` s with a reading each second and a look every 250 ms; returns what was shown and when it changed. */
const run = (readingAt: (s: number) => Reading | undefined, seconds: number) => {
  const countdown = new Countdown()
  const shown: { tMs: number; seconds: number; note: string | undefined }[] = []
  for (let tMs = 0; tMs <= seconds * 1000; tMs += 250) {
    if (tMs % 1000 === 0) countdown.update(readingAt(tMs / 1000))
    const now = countdown.show(tMs)
    if (now !== undefined) shown.push({ tMs, seconds: now.seconds, note: now.note })
  }
  const changes = shown.filter((entry, index) => index === 0 || entry.seconds !== shown[index - 1]!.seconds)
  return { shown, changes }
}

describe('a countdown', () => {
  it('falls by one each second below two minutes', () => {
    const { changes } = run((s) => reading(s * 1000, 60 - s), 30)
    expect(changes.map(({ seconds }) => seconds)).toEqual(Array.from({ length: 31 }, (_, s) => 60 - s))
  })

  it('goes in steps of 10 s from 2 to 10 min and in whole minutes above', () => {
    expect(run((s) => reading(s * 1000, 205 - s), 30).changes.map(({ seconds }) => seconds)).toEqual([
      200, 190, 180, 170,
    ])
    expect(run((s) => reading(s * 1000, 725 - s), 30).changes.map(({ seconds }) => seconds)).toEqual([720, 660])
  })

  it('changes at most once a second and never rises for jitter of the estimate', () => {
    const jitter = [0, 1.4, -1.1, 0.9, -1.6, 1.7, -0.4, 1.2, -1.9, 0.3]
    const { changes } = run((s) => reading(s * 1000, 90 - s + jitter[s % jitter.length]!), 60)
    for (let i = 1; i < changes.length; i++) {
      expect(changes[i]!.seconds).toBeLessThan(changes[i - 1]!.seconds)
      expect(changes[i]!.tMs - changes[i - 1]!.tMs).toBeGreaterThanOrEqual(1000)
    }
    expect(changes.at(-1)!.seconds).toBeLessThan(33)
  })

  it('says that the line slowed when it has to rise for it', () => {
    const { shown } = run((s) => {
      const lineSpeed = s < 10 ? 300 : 200
      const metres = 500 - 5 * Math.min(s, 10) - (s < 10 ? 0 : (s - 10) * (200 / 60))
      return reading(s * 1000, metres / (lineSpeed / 60), { lineSpeed, metres })
    }, 14)
    const risen = shown.find(({ note }) => note !== undefined)
    expect(risen).toMatchObject({ note: 'line_slowed' })
    expect(risen!.tMs).toBeLessThan(11_500)
    expect(risen!.seconds).toBeGreaterThan(100)
  })

  it('says that the line is faster, or the estimate another one, when it falls faster than time passes', () => {
    const faster = run((s) => {
      const speed = s < 20 ? 5 : Math.min(7, 5 + (s - 20) * 0.4)
      const metres = 900 - 5 * Math.min(s, 20) - 6 * Math.max(0, s - 20)
      return reading(s * 1000, metres / speed, { lineSpeed: speed * 60, metres })
    }, 40)
    const told = faster.shown.filter(({ note }) => note !== undefined)
    expect(new Set(told.map(({ note }) => note))).toEqual(new Set(['line_sped_up']))
    expect(told[0]!.tMs).toBeLessThan(25_000)
    const { shown } = run((s) => reading(s * 1000, (s < 10 ? 270 : 150) - s), 30)
    expect(shown.find(({ tMs }) => tMs === 9000)?.note).toBeUndefined()
    expect(shown.find(({ tMs }) => tMs === 12_000)?.note).toBe('revised')
    expect(shown.at(-1)?.note).toBeUndefined()
  })

  it('says that a new roll is on', () => {
    const { shown } = run((s) => (s < 5 ? reading(s * 1000, 6 - s) : reading(s * 1000, 240 - s, { metres: 1200 })), 8)
    expect(shown.at(-1)).toMatchObject({ seconds: 230, note: 'new_roll' })
  })

  it('believes a rise without a visible reason only when it lasts', () => {
    const { shown } = run((s) => reading(s * 1000, (s < 5 ? 100 : 130) - s, { metres: 500 }), 20)
    expect(shown.filter(({ tMs }) => tMs < 14_000).every(({ seconds }) => seconds <= 100)).toBe(true)
    expect(shown.at(-1)).toMatchObject({ note: 'revised' })
    expect(shown.at(-1)!.seconds).toBeGreaterThan(105)
  })

  it('does not run on without readings for longer than 3 s', () => {
    const countdown = new Countdown()
    countdown.update(reading(0, 100))
    for (let tMs = 0; tMs <= 20_000; tMs += 250) countdown.show(tMs)
    expect(countdown.show(20_000)!.seconds).toBe(97)
  })

  it('shows nothing where there is nothing to count, and remembers what people saw last', () => {
    const countdown = new Countdown()
    countdown.update(reading(0, 50))
    expect(countdown.show(0)!.seconds).toBe(50)
    countdown.update(undefined)
    expect(countdown.show(1000)).toBeUndefined()
    countdown.update(reading(4000, 80))
    expect(countdown.show(4000)).toEqual({ seconds: 80, note: 'new_roll' })
    countdown.update(undefined)
    countdown.update(reading(9000, 70))
    expect(countdown.show(9000)).toMatchObject({ seconds: 70 })
  })

  it('says that a length was read anew where the web left grew and the speed did not fall', () => {
    const countdown = new Countdown()
    countdown.update(reading(0, 100))
    countdown.show(0)
    countdown.update(undefined)
    countdown.update(reading(5000, 110))
    expect(countdown.show(5000)).toEqual({ seconds: 110, note: 'length_revised' })
  })
})
