/** When each item was serviced last, so that one change is never counted twice. Pure; plain data. */

import { addsNote, isSameTap } from '../splice-review.ts'

export interface ServiceTap {
  tMs: number
  person: string | null
  note: string
}

export class ServiceTaps {
  readonly #last = new Map<string, ServiceTap>()

  /** @returns what is to be kept, at the first one's time and in its name; undefined where all of it is kept already. */
  accept(item: string, tap: ServiceTap): { kept: ServiceTap; isNew: boolean } | undefined {
    const before = this.#last.get(item)
    const isSame = before !== undefined && isSameTap(before.tMs, tap.tMs)
    if (isSame && !addsNote(before, tap.note)) return undefined
    const kept = isSame ? { ...before, note: tap.note } : tap
    this.#last.set(item, kept)
    return { kept, isNew: !isSame }
  }

  /** What was entered then was not done: said again within two minutes it is no second time. */
  takeBack(item: string, tMs: number): void {
    if (this.#last.get(item)?.tMs === tMs) this.#last.delete(item)
  }

  snapshot(): Record<string, ServiceTap> {
    return Object.fromEntries(this.#last)
  }

  restore(state: Record<string, ServiceTap>): void {
    this.#last.clear()
    for (const [item, tap] of Object.entries(state)) this.#last.set(item, tap)
  }
}
