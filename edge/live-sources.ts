/**
 * The sources of a running daemon: started, stopped and exchanged one by one, so that a changed config disturbs no other.
 */
import type { Config, SourceConfig } from './config/config.ts'
import { tagsOfSource } from './config/tags.ts'
import { createSource } from './sources/create.ts'
import type { SourcePorts } from './sources/ports.ts'
import type { Source, SourceHealth, SourceListener } from './sources/source.ts'

export class LiveSources {
  readonly #ports: SourcePorts
  readonly #listener: SourceListener
  readonly #running = new Map<string, Source>()

  constructor(ports: SourcePorts, listener: SourceListener) {
    this.#ports = ports
    this.#listener = listener
  }

  async start(config: Config): Promise<void> {
    for (const source of Object.values(config.sources)) await this.#begin(config, source)
  }

  async #begin(config: Config, source: SourceConfig): Promise<void> {
    const running = createSource(source, tagsOfSource(config, source.name), this.#ports)
    this.#running.set(source.name, running)
    await running.start(this.#listener)
  }

  /** Ends and begins what changed; the rest is not touched. */
  async apply(config: Config, changes: { added: string[]; removed: string[]; changed: string[] }): Promise<void> {
    for (const name of [...changes.removed, ...changes.changed]) {
      await this.#running.get(name)?.stop()
      this.#running.delete(name)
    }
    for (const name of [...changes.added, ...changes.changed]) {
      const source = config.sources[name]
      if (source !== undefined) await this.#begin(config, source)
    }
  }

  health(): SourceHealth[] {
    return [...this.#running.values()].map((source) => source.health())
  }

  async stop(): Promise<void> {
    await Promise.all([...this.#running.values()].map((source) => source.stop()))
  }
}
