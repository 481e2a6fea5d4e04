/**
 * Snapshots of the unwinds in the store. Charts of trends are most of one (29 KB with all their sides) and change once a splice:
 * they have a key of their own, written when they changed and not every few seconds.
 */
import type { Store } from './store.ts'

interface WithTrends {
  parts: Record<string, unknown> & { trends: Record<string, unknown> & { watch: unknown } }
}

const hasTrends = (data: unknown): data is WithTrends => {
  const parts = (data as Partial<WithTrends> | null)?.parts
  return parts?.trends !== undefined && parts.trends.watch !== undefined
}

export class SnapshotDesk {
  readonly #store: Pick<Store, 'putSnapshot' | 'snapshot'>
  /** By unwind: the charts as they were written last. A pipeline gives the same object as long as they stay the same. */
  readonly #written = new Map<string, unknown>()

  constructor(store: Pick<Store, 'putSnapshot' | 'snapshot'>) {
    this.#store = store
  }

  /** Both parts go into one group, so that they are of one moment. */
  put(unwind: string, tMs: number, data: unknown): void {
    if (!hasTrends(data)) {
      this.#store.putSnapshot(`unwind:${unwind}`, tMs, data)
      return
    }
    const { watch, ...trends } = data.parts.trends
    if (watch !== this.#written.get(unwind)) this.#store.putSnapshot(`trends:${unwind}`, tMs, watch)
    this.#written.set(unwind, watch)
    this.#store.putSnapshot(`unwind:${unwind}`, tMs, { ...data, parts: { ...data.parts, trends } })
  }

  /** @returns what `put` was given last; undefined where there was none. */
  of(unwind: string): unknown {
    const data = this.#store.snapshot(`unwind:${unwind}`)?.data
    const parts = (data as Partial<WithTrends> | null | undefined)?.parts
    const watch = this.#store.snapshot(`trends:${unwind}`)?.data
    if (parts?.trends === undefined) return data
    // Without its charts an unwind still knows the rest.
    const trends = { ...parts.trends, watch: watch ?? parts.trends.watch ?? { charts: [] } }
    return { ...(data as WithTrends), parts: { ...parts, trends } }
  }
}
