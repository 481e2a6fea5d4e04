/** Runs cases of the buffer's bench in a thread of its own. */
import { parentPort } from 'node:worker_threads'
import { BUFFER_SCENARIOS } from './buffer-scenarios.ts'
import { type BufferLooks, runBuffer } from './run-buffer.ts'

export interface BufferJob {
  scenario: number
  seed: number
  hasFaults: boolean
}

export interface BufferAnswer extends BufferJob {
  looks: BufferLooks | undefined
  failed: string | undefined
}

parentPort?.on('message', (job: BufferJob) => {
  const bench = BUFFER_SCENARIOS[job.scenario]!
  const answer: BufferAnswer = { ...job, looks: undefined, failed: undefined }
  try {
    answer.looks = runBuffer(bench, job.scenario, job.seed, job.hasFaults)
  } catch (error) {
    answer.failed = `${bench.name}, seed ${job.seed}: ${error instanceof Error ? (error.stack ?? error.message) : String(error)}`
  }
  parentPort!.postMessage(answer)
})
