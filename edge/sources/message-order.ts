/**
 * Which numbered messages of a peer were seen, and which are missing before a new one. Pure. Messages may come out of order
 * and twice; numbers begin anywhere.
 */

/** A server keeps some messages for us; none keeps thousands. */
const REMEMBERED = 1000
/** More are never asked for again at once. */
const MOST_MISSING = 200

export class MessageOrder {
  readonly #seen = new Set<number>()
  #newest: number | undefined

  has(number: number): boolean {
    return this.#seen.has(number)
  }

  /** Notes a message. `missing` are those between the newest so far and this one, oldest first. */
  note(number: number): { isNew: boolean; missing: number[] } {
    if (this.#seen.has(number)) return { isNew: false, missing: [] }
    this.#seen.add(number)
    if (this.#seen.size > REMEMBERED) this.#seen.delete(this.#seen.values().next().value as number)
    const newest = this.#newest
    if (newest === undefined || number > newest) this.#newest = number
    const missing: number[] = []
    if (newest !== undefined) {
      for (let each = Math.max(newest + 1, number - MOST_MISSING); each < number; each += 1) missing.push(each)
    }
    return { isNew: true, missing }
  }
}
