import { expect, it } from 'vitest'
import { unitIn } from '../../edge/signals/contract-units.ts'

it('a further tag has the unit that its config states, the others the contract’s', () => {
  const unitOf = unitIn([
    { signal: 'extra.air_pressure', unit: 'bar', toSi: 1 },
    { signal: 'extra.nip', unit: 'mm', toSi: 0.001 },
    { signal: 'line_speed', unit: 'm/s', toSi: 1 },
  ])
  expect(['extra.air_pressure', 'extra.nip', 'extra.gone', 'line_speed'].map(unitOf)).toEqual(['bar', '', '', 'm/min'])
})
