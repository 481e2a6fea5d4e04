/**
 * Tries to live with a peer again and again, for ever, until it is told to stop. What failed says how long to wait; timers and
 * waits end with it.
 */
import { LastwrapError, reasonOf } from '../errors.ts'
import { ASK_AGAIN, Backoff, RECONNECT, SIGN_IN_AGAIN } from './backoff.ts'

export interface Attempt {
  /** Connects and lives with one connection; resolves when it has to be built anew. */
  once: () => Promise<void>
  /** One that could not be had; `code` as in errors.ts. */
  failed: (code: string, trouble: string) => void
}

export class Attempts {
  #isStopped = false
  #running: Promise<void> | undefined
  #interrupt: () => void = () => undefined
  readonly #timers = new Set<NodeJS.Timeout>()

  get isStopped(): boolean {
    return this.#isStopped
  }

  start(attempt: Attempt): void {
    this.#running = this.#run(attempt)
  }

  /** What ends the present connection when all is to stop; at once where it is to stop already. */
  onStop(interrupt: () => void): void {
    this.#interrupt = interrupt
    if (this.#isStopped) interrupt()
  }

  later(ms: number, run: () => void): NodeJS.Timeout {
    const timer = setTimeout(() => {
      this.#timers.delete(timer)
      run()
    }, ms)
    this.#timers.add(timer)
    return timer
  }

  /** Resolves when the present connection is closed, or after `mostMs`. */
  async stop(mostMs: number): Promise<void> {
    this.#isStopped = true
    for (const timer of this.#timers) clearTimeout(timer)
    this.#interrupt()
    let timer: NodeJS.Timeout | undefined
    const longest = new Promise<void>((resolve) => {
      timer = setTimeout(resolve, mostMs)
    })
    await Promise.race([this.#running, longest])
    clearTimeout(timer)
  }

  async #run({ once, failed }: Attempt): Promise<void> {
    const [sooner, asking, signIn] = [new Backoff(RECONNECT), new Backoff(ASK_AGAIN), new Backoff(SIGN_IN_AGAIN)]
    while (!this.#isStopped) {
      let backoff = sooner
      try {
        await once()
        for (const each of [sooner, asking, signIn]) each.reset()
      } catch (thrown) {
        const code = thrown instanceof LastwrapError ? thrown.code : 'source_unreachable'
        // Two clients with one id throw each other out: whoever comes back at once helps neither.
        if (code === 'sign_in_refused' || code === 'client_id_taken') backoff = signIn
        else if (code !== 'source_unreachable') backoff = asking
        if (!this.#isStopped) failed(code, reasonOf(thrown))
      }
      if (!this.#isStopped) await this.#pause(backoff.next())
    }
  }

  #pause(ms: number): Promise<void> {
    return new Promise((resolve) => {
      const timer = this.later(ms, resolve)
      this.onStop(() => {
        clearTimeout(timer)
        resolve()
      })
    })
  }
}
