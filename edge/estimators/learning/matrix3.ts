/** Algebra of 3×3 matrices, row by row. Pure. */

export type Matrix3 = readonly number[]

const AT = [0, 1, 2] as const

const each3 = (of: (row: number, column: number) => number): number[] => AT.flatMap((row) => AT.map((c) => of(row, c)))

export const diagonal3 = (...values: readonly [number, number, number]): number[] =>
  each3((row, column) => (row === column ? values[row]! : 0))

export const plus3 = (a: Matrix3, b: Matrix3, factor = 1): number[] => a.map((one, i) => one + factor * b[i]!)

export const times3 = (a: Matrix3, b: Matrix3): number[] =>
  each3((row, column) => AT.reduce<number>((sum, k) => sum + a[3 * row + k]! * b[3 * k + column]!, 0))

export const transposed3 = (a: Matrix3): number[] => each3((row, column) => a[3 * column + row]!)

export const applied3 = (a: Matrix3, x: readonly number[]): number[] =>
  AT.map((row) => AT.reduce<number>((sum, k) => sum + a[3 * row + k]! * x[k]!, 0))

/** By cofactors; undefined where there is none. Of a matrix that is positive definite its determinant is positive. */
export function inverse3(a: Matrix3): number[] | undefined {
  const minor = (row: number, column: number): number => {
    const [r, s] = AT.filter((one) => one !== row) as [number, number]
    const [c, d] = AT.filter((one) => one !== column) as [number, number]
    return a[3 * r + c]! * a[3 * s + d]! - a[3 * r + d]! * a[3 * s + c]!
  }
  const cofactor = (row: number, column: number): number => ((row + column) % 2 === 0 ? 1 : -1) * minor(row, column)
  const determinant = AT.reduce<number>((sum, column) => sum + a[column]! * cofactor(0, column), 0)
  return determinant > 0 ? each3((row, column) => cofactor(column, row) / determinant) : undefined
}
