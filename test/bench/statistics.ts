/** What the bench counts with. */
export const known = (values: readonly (number | undefined)[]): number[] =>
  values.filter((value): value is number => value !== undefined)

export const rms = (values: readonly number[]): number =>
  values.length === 0 ? Number.NaN : Math.sqrt(values.reduce((sum, one) => sum + one * one, 0) / values.length)

export const mean = (values: readonly number[]): number =>
  values.length === 0 ? Number.NaN : values.reduce((sum, one) => sum + one, 0) / values.length

export const share = (flags: readonly (boolean | undefined)[]): number => {
  const told = flags.filter((flag) => flag !== undefined)
  return told.length === 0 ? Number.NaN : told.filter(Boolean).length / told.length
}

/** Of absolute values. */
export const percentile = (values: readonly number[], p: number): number => {
  const sorted = values.map(Math.abs).sort((a, b) => a - b)
  return sorted[Math.min(sorted.length - 1, Math.floor(p * sorted.length))] ?? Number.NaN
}
