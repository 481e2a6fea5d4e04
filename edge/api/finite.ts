/**
 * Numbers that JSON cannot carry (NaN, infinite) become null on the way out, as `JSON.stringify` does it: one estimate
 * that went wrong must not take the answer about every other unwind with it.
 */

/** The same value, or a copy with nulls where it held such numbers. */
export const withFiniteNumbers = (value: unknown): unknown => {
  if (typeof value === 'number') return Number.isFinite(value) ? value : null
  if (Array.isArray(value)) {
    let copy: unknown[] | undefined
    for (const [index, item] of value.entries()) {
      const clean = withFiniteNumbers(item)
      if (clean === item) continue
      copy ??= [...value]
      copy[index] = clean
    }
    return copy ?? value
  }
  if (typeof value !== 'object' || value === null) return value
  let copy: Record<string, unknown> | undefined
  for (const [key, item] of Object.entries(value)) {
    const clean = withFiniteNumbers(item)
    if (clean === item) continue
    copy ??= { ...value }
    copy[key] = clean
  }
  return copy ?? value
}
