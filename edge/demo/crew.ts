/** An imaginary crew: clears the stub off the waiting spindle, loads the next roll, prepares its leading edge and arms it. */
export type CrewTask = 'clearing' | 'fetching' | 'loading' | 'preparing' | 'ready'

/** When each task is done, as share of the time until ready. */
const DONE_AT: readonly (readonly [CrewTask, number])[] = [
  ['clearing', 0.15],
  ['fetching', 0.35],
  ['loading', 0.5],
  ['preparing', 1],
]

export class Crew {
  task: CrewTask = 'ready'
  private elapsedS = 0
  private readyAfterS = 0
  private isHeldUp = false

  /** Another roll is to be brought. Held up, the crew prepares it but doesn't arm it until `finish`. */
  begin(readyAfterS: number, isHeldUp: boolean): void {
    this.task = 'clearing'
    this.elapsedS = 0
    this.readyAfterS = readyAfterS
    this.isHeldUp = isHeldUp
  }

  finish(): void {
    this.task = 'ready'
  }

  /** Somebody's arms are in the waiting roll's sensor beam. */
  get isInTheWay(): boolean {
    return this.task === 'clearing' || this.task === 'loading'
  }

  get hasCleared(): boolean {
    return this.task !== 'clearing'
  }

  get hasLoaded(): boolean {
    return this.task === 'preparing' || this.task === 'ready'
  }

  step(dtS: number): void {
    if (this.task === 'ready') return
    this.elapsedS += dtS
    const share = this.elapsedS / this.readyAfterS
    const task = DONE_AT.find(([, doneAt]) => share < doneAt)?.[0] ?? 'ready'
    this.task = task === 'ready' && this.isHeldUp ? 'preparing' : task
  }
}
