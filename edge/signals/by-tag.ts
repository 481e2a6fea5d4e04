/** What hangs on a tag, found by its source and address: every report asks, and a key put together for each would be hashed anew. */
import type { Sample } from '../sample.ts'

export class ByTag<V> {
  readonly #bySource = new Map<string, Map<string, V[]>>()

  add(source: string, address: string, value: V): void {
    const byAddress = this.#bySource.get(source) ?? new Map<string, V[]>()
    this.#bySource.set(source, byAddress)
    const list = byAddress.get(address)
    if (list === undefined) byAddress.set(address, [value])
    else list.push(value)
  }

  get({ source, address }: Sample): readonly V[] | undefined {
    return this.#bySource.get(source)?.get(address)
  }

  clear(): void {
    this.#bySource.clear()
  }

  /** Each tag once: source and address. */
  *tags(): IterableIterator<[source: string, address: string]> {
    for (const [source, byAddress] of this.#bySource) for (const address of byAddress.keys()) yield [source, address]
  }
}
