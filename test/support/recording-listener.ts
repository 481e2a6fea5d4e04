/** Keeps what a source says, and lets a test wait for it instead of sleeping. */
import { EventEmitter, once } from 'node:events'
import { setTimeout as delay } from 'node:timers/promises'
import { systemClock } from '../../edge/clock.ts'
import type { Sample } from '../../edge/sample.ts'
import { readSecret } from '../../edge/security/secrets.ts'
import type { SourcePorts } from '../../edge/sources/ports.ts'
import type { SourceHealth, SourceListener } from '../../edge/sources/source.ts'

export class RecordingListener implements SourceListener {
  readonly samples: Sample[] = []
  readonly states: SourceHealth[] = []
  aliveTMs: number[] = []
  readonly #events = new EventEmitter().setMaxListeners(0)

  sample(sample: Sample): void {
    this.samples.push(sample)
    this.#events.emit('changed')
  }

  alive(_source: string, tMs: number): void {
    this.aliveTMs.push(tMs)
    this.#events.emit('changed')
  }

  state(_source: string, health: SourceHealth): void {
    this.states.push(health)
    this.#events.emit('changed')
  }

  get health(): SourceHealth | undefined {
    return this.states.at(-1)
  }

  of(address: string): Sample[] {
    return this.samples.filter((sample) => sample.address === address)
  }

  /** Resolves with the first defined result of `look`, asked whenever something came; rejects with `what` after `withinMs`. */
  async until<T>(what: string, look: () => T | undefined | false, withinMs = 15_000): Promise<T> {
    const endMs = Date.now() + withinMs
    for (;;) {
      const found = look()
      if (found !== undefined && found !== false) return found
      if (Date.now() > endMs) {
        throw new Error(
          `Not seen within ${withinMs} ms: ${what}. State ${this.health?.state}, ${this.health?.trouble}; ${this.samples.length} samples.`,
        )
      }
      // What is only counted makes no event: look now and then all the same.
      await Promise.race([once(this.#events, 'changed'), delay(50)])
    }
  }
}

/** Ports as the daemon has them, with the log in a list. */
export function testPorts(folder: string, lines: string[] = []): SourcePorts {
  const log = (level: string) => (message: string) => lines.push(`${level} ${message}`)
  return {
    clock: systemClock,
    log: { debug: log('debug'), info: log('info'), warn: log('warn') },
    certificatesDir: `${folder}/certificates/opcua`,
    readSecret,
    instanceId: 'f00dcafe00000001',
  }
}
