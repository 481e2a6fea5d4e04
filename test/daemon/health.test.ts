import { expect, it } from 'vitest'
import type { Config } from '../../edge/config/config.ts'
import { healthView } from '../../edge/health.ts'

const viewWith = (signals: readonly string[]) =>
  healthView({
    config: {
      site: { name: 'Alder Quay Works', timeZone: 'Europe/Berlin', language: 'en', shifts: [] },
      wall: { screenDiagonalM: 1.1, distanceM: 8 },
      unwinds: [{ signals: [{ signal: 'line_speed' }] }, { signals: signals.map((signal) => ({ signal })) }],
    } as unknown as Config,
    nowMs: 0,
    startedMs: 0,
    version: '0',
    isDemo: false,
    sources: [],
    storeTrouble: undefined,
    database: undefined,
  })

it('a site has finished rolls where any line tells which one is being wound', () => {
  expect(viewWith(['finished_roll']).finished_rolls).toBe(true)
  expect(viewWith(['roll_id']).finished_rolls).toBe(false)
})
