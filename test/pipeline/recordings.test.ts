/** Every committed recording gives, byte for byte, what it gave when somebody last reviewed it. */
import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { expect, test } from 'vitest'
import { CASES_FOLDER, EXPECTED_FILES, goldenCases, replayCase } from '../recordings/golden.ts'

test('there are cases', () => {
  expect(goldenCases().length).toBeGreaterThanOrEqual(10)
})

test.each(goldenCases())('%s', async (name) => {
  const written = await replayCase(name)
  // Splices first: they say most about what changed. `npm run golden:update` takes over what was reviewed.
  for (const file of EXPECTED_FILES.toReversed()) {
    expect(written[file], file).toBe(readFileSync(join(CASES_FOLDER, name, file), 'utf8'))
  }
})

test('the same recording twice gives the same bytes', async () => {
  const [name] = goldenCases()
  expect(await replayCase(name!)).toEqual(await replayCase(name!))
})
