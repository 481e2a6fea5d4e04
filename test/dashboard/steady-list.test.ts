import { expect, test } from 'vitest'
import { steady } from '../../dashboard/alarms/steady-list.ts'
import type { AlarmView } from '../../edge/api/messages.ts'

const alarm = (id: string, priority: AlarmView['priority'], minute: number): AlarmView =>
  ({ id, priority, raised: `2026-03-02T06:0${minute}:00.000Z` }) as AlarmView
const ids = (alarms: readonly AlarmView[]): string => alarms.map(({ id }) => id).join('')

const a = alarm('a', 'low', 1)
const b = alarm('b', 'high', 2)
const c = alarm('c', 'medium', 3)
const d = alarm('d', 'high', 4)

test('the gravest stands first, then the newest', () => {
  expect(ids(steady([], [a, b, c, d], new Set(), false))).toBe('dbca')
})

test('while somebody works in the list no card moves: what is dealt with stays, what is new comes last', () => {
  const shown = steady([], [a, b, c], new Set(), false)
  expect(ids(shown)).toBe('bca')
  const later = steady(shown, [a, c, d], new Set(), true)
  expect(ids(later)).toBe('bcad')
  expect(ids(steady(later, [a, c, d], new Set(), false))).toBe('dca')
})

test('what was put aside leaves at once', () => {
  expect(ids(steady([b, c, a], [b, a], new Set(['c']), true))).toBe('ba')
})
