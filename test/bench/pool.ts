/** Shares jobs out to a few worker threads, one at a time each. */
import { Worker } from 'node:worker_threads'

/** Most of what a run makes is thrown away at once: with more room it is cleared less often. */
const YOUNG_MB = 64

export async function inThreads<Job, Answer>(
  url: URL,
  threads: number,
  jobs: readonly Job[],
  take: (answer: Answer) => void,
): Promise<void> {
  let next = 0
  const runOne = async (): Promise<void> => {
    const worker = new Worker(url, { resourceLimits: { maxYoungGenerationSizeMb: YOUNG_MB } })
    try {
      while (next < jobs.length) {
        const job = jobs[next++]!
        const answered = new Promise<Answer>((resolve, reject) => {
          worker.once('message', resolve)
          worker.once('error', reject)
        })
        worker.postMessage(job)
        take(await answered)
        worker.removeAllListeners('error')
      }
    } finally {
      await worker.terminate()
    }
  }
  await Promise.all(Array.from({ length: Math.min(threads, jobs.length) }, runOne))
}
