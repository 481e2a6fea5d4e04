/** Runs bench cases in a thread of its own: a scenario's index and a seed in, looks out. */
import { parentPort } from 'node:worker_threads'
import { judge, type Look, type Reference, referenceOf, type Taught, teach } from './run-case.ts'
import type { BenchScenario } from './scenarios.ts'

/** Teachers count from 1 as seeds do. */
export interface BenchJob {
  /** Its place in the list, for the answer. */
  scenario: number
  bench: BenchScenario
  work:
    | { bound: true }
    | { teacher: number; reference: Reference }
    | { seed: number; reference: Reference; taught: Taught }
}

export interface BenchAnswer {
  scenario: number
  reference: Reference | undefined
  teacher: number | undefined
  taught: Taught | undefined
  looks: Look[]
  failed: string | undefined
}

parentPort?.on('message', ({ scenario, bench, work }: BenchJob) => {
  const nothing = { reference: undefined, teacher: undefined, taught: undefined, looks: [], failed: undefined }
  const answer: BenchAnswer = { scenario, ...nothing }
  try {
    if ('bound' in work) answer.reference = referenceOf(bench)
    else if ('teacher' in work) {
      answer.teacher = work.teacher
      Object.assign(answer, teach(bench, scenario, work.teacher, work.reference))
    } else answer.looks = judge(bench, scenario, work.seed, work.reference, work.taught)
  } catch (error) {
    answer.failed = `${bench.name}, ${'seed' in work ? `seed ${work.seed}` : 'teaching'}: ${error instanceof Error ? (error.stack ?? error.message) : String(error)}`
  }
  parentPort!.postMessage(answer)
})
