/** Runs machines of the bench of recognition in a thread of its own. */
import { parentPort } from 'node:worker_threads'
import { type Recognised, runSplices } from './run-splices.ts'
import type { SpliceMachine } from './splice-machines.ts'

export interface SplicesJob {
  machine: SpliceMachine
  seed: number
}

export interface SplicesAnswer {
  machine: string
  recognised: Recognised | undefined
  failed: string | undefined
}

parentPort?.on('message', ({ machine, seed }: SplicesJob) => {
  const answer: SplicesAnswer = { machine: machine.name, recognised: undefined, failed: undefined }
  try {
    answer.recognised = runSplices(machine, seed)
  } catch (error) {
    answer.failed = `${machine.name}, seed ${seed}: ${error instanceof Error ? (error.stack ?? error.message) : String(error)}`
  }
  parentPort!.postMessage(answer)
})
