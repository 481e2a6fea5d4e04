/** Copies of plain data: what every part keeps of itself is numbers, texts, truths, null and undefined in objects and arrays. */

/**
 * A deep copy, so that a later step does not change what was handed out. Every pipeline is asked for one every few seconds:
 * the general way of the platform, which knows cycles and classes too, takes ten times as long.
 */
export function copyOf<T>(value: T): T {
  return (typeof value === 'object' && value !== null ? copyObject(value) : value) as T
}

function copyObject(value: object): unknown {
  if (Array.isArray(value)) return value.map(copyOf)
  const copy: Record<string, unknown> = {}
  for (const key of Object.keys(value)) {
    const own = copyOf((value as Record<string, unknown>)[key])
    // A name that a plant gives may be any text, and this one would set what the object inherits.
    if (key === '__proto__') Object.defineProperty(copy, key, { value: own, ...PLAIN })
    else copy[key] = own
  }
  return copy
}

const PLAIN = { enumerable: true, writable: true, configurable: true }

/** As text keeps it, without the way over text: nothing undefined, no negative zero, and null for what is no number. */
export function asPlainData(value: unknown): unknown {
  if (typeof value === 'number') return Number.isFinite(value) ? value + 0 : null
  if (typeof value !== 'object' || value === null) return value
  if (Array.isArray(value)) return value.map((one) => asPlainData(one) ?? null)
  const copy: Record<string, unknown> = {}
  for (const key of Object.keys(value)) {
    const own = asPlainData((value as Record<string, unknown>)[key])
    if (own === undefined) continue
    if (key === '__proto__') Object.defineProperty(copy, key, { value: own, ...PLAIN })
    else copy[key] = own
  }
  return copy
}
