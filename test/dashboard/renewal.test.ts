import { describe, expect, it } from 'vitest'
import { shouldRenew } from '../../dashboard/wall/renewal.ts'

describe('a wall after an upgrade', () => {
  it('loads the new pages once, and never again for the same ones', () => {
    expect(shouldRenew('index-a.js', 'index-b.js', null)).toBe(true)
    expect(shouldRenew('index-a.js', 'index-b.js', 'index-b.js')).toBe(false)
    // The next upgrade is another one.
    expect(shouldRenew('index-a.js', 'index-c.js', 'index-b.js')).toBe(true)
  })
  it('stays as it is where nothing changed or nothing is known', () => {
    expect(shouldRenew('index-a.js', 'index-a.js', null)).toBe(false)
    expect(shouldRenew(undefined, 'index-a.js', null)).toBe(false)
    expect(shouldRenew('index-a.js', undefined, null)).toBe(false)
  })
})
