import { describe, expect, it } from 'vitest'
import { Rival } from '../../edge/sources/rival.ts'

describe('another client with our id', () => {
  it('is believed at once where the broker says so (MQTT 5)', () => {
    expect(new Rival().closed(3_600_000, true)).toBe('told')
  })

  it('is likely where the broker closes right after connecting, three times in a row (MQTT 3.1.1)', () => {
    const rival = new Rival()
    expect([rival.closed(200, false), rival.closed(300, false), rival.closed(250, false)]).toEqual([
      undefined,
      undefined,
      'likely',
    ])
    // Half a minute of peace while the other one waits ends nothing.
    expect(rival.closed(30_000, false)).toBeUndefined()
    expect(rival.closed(200, false)).toBe('likely')
    // Five minutes do.
    expect(rival.closed(300_000, false)).toBeUndefined()
    expect(rival.closed(200, false)).toBeUndefined()
  })

  it('is not a broker or a cable that breaks now and then', () => {
    const rival = new Rival()
    for (let i = 0; i < 50; i += 1) expect(rival.closed(3_600_000, false)).toBeUndefined()
    expect([rival.closed(100, false), rival.closed(100, false), rival.closed(600_000, false)]).toEqual([
      undefined,
      undefined,
      undefined,
    ])
  })
})
