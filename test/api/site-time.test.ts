import { expect, it } from 'vitest'
import { siteTime } from '../../edge/api/site-time.ts'

it("a time in a sentence has the site's day and the zone that holds then", () => {
  expect(siteTime(Date.parse('2026-03-01T23:30:05Z'), 'Europe/Berlin')).toBe('2026-03-02 00:30:05 CET')
  expect(siteTime(Date.parse('2026-07-01T12:00:00Z'), 'Europe/Berlin')).toMatch(/^2026-07-01 14:00:00 \S+$/)
})
