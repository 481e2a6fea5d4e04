import { expect, it } from 'vitest'
import type { SignalConfig } from '../../edge/config/config.ts'
import { contractValue, unitIn } from '../../edge/signals/contract-units.ts'

it('a further tag has the unit that its config states, the others the contract’s', () => {
  const unitOf = unitIn([
    { signal: 'extra.air_pressure', unit: 'bar' },
    { signal: 'extra.nip', unit: 'mm' },
    { signal: 'line_speed', unit: 'm/s' },
  ])
  expect(['extra.air_pressure', 'extra.nip', 'extra.gone', 'line_speed'].map(unitOf)).toEqual([
    'bar',
    'mm',
    '',
    'm/min',
  ])
})

it('and its values stand in that unit', () => {
  const nip = { signal: 'extra.nip', unit: 'mm', toSi: 0.001 } as unknown as SignalConfig
  expect(contractValue(nip, 0.004, undefined)).toEqual({ signal: 'extra.nip', value: 4 })
})
