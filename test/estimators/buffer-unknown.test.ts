/** What is said of a festoon whose position nobody knows. */
import { expect, test } from 'vitest'
import { loadConfigText } from '../../edge/config/load.ts'
import { bufferForecast } from '../../edge/estimators/buffer-forecast.ts'
import { learnedNothing } from '../../edge/estimators/learning/splicer.ts'
import { simulate } from '../truth/line-simulator.ts'

const { config } = loadConfigText(simulate({ durationS: 1 }).config, 'simulated.yaml')
const { splicer, buffer } = config.unwinds[0]!
const at = (storedM: number | undefined) =>
  bufferForecast(
    {
      storedM,
      fillRateMps: undefined,
      isFillRising: false,
      splicer,
      buffer,
      learned: learnedNothing(),
      newRoll: undefined,
    },
    5,
    { metres: 2000, sdM: 1 },
  )

test('GIVEN a carriage that gives no value WHEN the margin is asked for THEN it is not known, and neither is a highest speed', () => {
  expect(at(undefined)).toMatchObject({ bufferMarginM: undefined, highestSpeedMps: undefined })
  // What the splice takes hangs on the splicer alone.
  expect(at(undefined).bufferNeededM).toBe(at(10).bufferNeededM)
  expect(at(10).bufferMarginM).toBeDefined()
  expect(at(10).highestSpeedMps).toBeGreaterThan(0)
})
