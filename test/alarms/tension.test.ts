/** Web that goes slack while the line runs: below 60 % of the setpoint for 3 s (common practice, no source). */
import { expect, test } from 'vitest'
import { emptyMemory } from '../../edge/alarms/definition.ts'
import { TENSION_ALARM } from '../../edge/alarms/tension.ts'
import { factsOf } from './facts-of.ts'

const findingAt = (value: number, stated: Parameters<typeof factsOf>[0] = {}, isRaised = false) =>
  TENSION_ALARM.condition(factsOf({ tension: { value, setpoint: 200 }, ...stated }), { ...emptyMemory(), isRaised })

test('begins below 60 % of the setpoint and ends above 75 %', () => {
  expect(findingAt(121)).toBeUndefined()
  expect(findingAt(118)).toMatchObject({ priority: 'high', parameters: { percent: 59 } })
  expect(findingAt(149, {}, true)).toBeDefined()
  expect(findingAt(151, {}, true)).toBeUndefined()
})

test('says nothing through a splice, nor where one of the two is not known; a sensor below zero is no tension', () => {
  expect(findingAt(20, { state: 'splicing' })).toBeUndefined()
  expect(findingAt(20, { state: 'refilling' })).toBeUndefined()
  expect(findingAt(20, { tension: undefined })).toBeUndefined()
  expect(findingAt(-3, {}, true)?.parameters).toEqual({ percent: 0 })
})

test('leaves a broken web to its own alarm', () => {
  expect(findingAt(15)).toBeUndefined()
  expect(findingAt(90, { webBreak: true })).toBeUndefined()
  expect(findingAt(15, {}, true)).toBeDefined()
})

test('waits for 3 s, and only while the line produces', () => {
  expect(TENSION_ALARM).toMatchObject({ onDelayS: 3, onlyProducing: true })
})
