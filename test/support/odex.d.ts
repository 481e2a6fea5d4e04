/**
 * The part of the ODE library `odex` (Dormand–Prince extrapolation, GBS) that tests use. The package ships its source as types,
 * which this project's stricter compiler settings refuse.
 */
declare module 'odex' {
  export class Solver {
    constructor(dimension: number)
    absoluteTolerance: number
    relativeTolerance: number
    maxStepSize: number
    denseOutput: boolean
    solve(
      derivative: (x: number, y: number[]) => number[],
      from: number,
      initial: number[],
      to: number,
      output?: (
        n: number,
        xBefore: number,
        x: number,
        y: number[],
        interpolate: (i: number, x: number) => number,
      ) => boolean | undefined,
    ): { y: number[]; outcome: number }
  }
}
