/** Runs bench cases in a thread of its own: a scenario's index and a seed in, looks out. */
import { parentPort } from 'node:worker_threads'
import { type Look, type Reference, referenceOf, runCase } from './run-case.ts'
import { BENCH_SCENARIOS } from './scenarios.ts'

export interface BenchJob {
  scenario: number
  /** Undefined: only the bound is asked for. */
  seed: number | undefined
  reference: Reference | undefined
}

export interface BenchAnswer {
  scenario: number
  reference: Reference | undefined
  looks: Look[]
  failed: string | undefined
}

parentPort?.on('message', ({ scenario, seed, reference }: BenchJob) => {
  const bench = BENCH_SCENARIOS[scenario]!
  const answer: BenchAnswer = { scenario, reference: undefined, looks: [], failed: undefined }
  try {
    if (seed === undefined || reference === undefined) answer.reference = referenceOf(bench)
    else answer.looks = runCase(bench, scenario, seed, reference)
  } catch (error) {
    answer.failed = `${bench.name}, seed ${seed}: ${error instanceof Error ? (error.stack ?? error.message) : String(error)}`
  }
  parentPort!.postMessage(answer)
})
