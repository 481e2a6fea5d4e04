/** Begins with the test files that wait longest, so that the last of them does not hold up the end on its own. */
import { BaseSequencer, type TestSpecification } from 'vitest/node'

const LONGEST = [
  'test/browser/end-to-end.test.ts',
  'test/servers/daemon-faults.test.ts',
  'test/pipeline/splices.test.ts',
  'test/servers/opcua.test.ts',
  'test/servers/demo-plant.test.ts',
]

const placeOf = ({ moduleId }: TestSpecification): number => {
  const place = LONGEST.findIndex((name) => moduleId.endsWith(name))
  return place < 0 ? LONGEST.length : place
}

export default class LongestFirst extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    return (await super.sort(files)).sort((a, b) => placeOf(a) - placeOf(b))
  }
}
