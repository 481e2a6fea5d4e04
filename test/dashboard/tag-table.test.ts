/** A tag's row says one thing of it, and breaks its address where a person would. */
import { expect, it } from 'vitest'
import { addressParts, qualityOf } from '../../dashboard/signals/tag-table.tsx'
import type { TagView } from '../../edge/api/messages-signals.ts'

const tagOf = (quality: TagView['quality'], refused: string | null, ignored: number): TagView =>
  ({ quality, uses: [{ refused, ignored }] }) as TagView

it('has a word for a tag that reports what can be no value, other than for one that is silent', () => {
  expect(qualityOf(tagOf(null, null, 0))).toBe('quality.none')
  expect(qualityOf(tagOf(null, 'AQ-4100', 1))).toBe('quality.no_value')
  expect(qualityOf(tagOf(null, null, 3))).toBe('quality.no_value')
  expect(qualityOf(tagOf('good', 'AQ-4100', 1))).toBe('quality.good')
})

it('breaks an address behind dots and underscores alone', () => {
  expect(addressParts('ns=2;s=Press.Line_Speed')).toEqual(['ns=2;s=Press.', 'Line_', 'Speed'])
})
