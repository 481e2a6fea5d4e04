/** What a seeded script has in store for each roll: how long the crew takes, ramps, a planned stop, a trouble at its splice. */
import type { Random } from './random.ts'

export type Trouble =
  /** The crew is late: the roll runs out before the next one is armed. Missed. */
  | 'not_ready'
  /** Armed, but the guard stayed open and the splicer out of automatic. Missed. */
  | 'not_auto'
  /** The joint opens on its way through the process. Failed. */
  | 'web_break'
  /** A sticky cylinder holds the web so long that the festoon reaches its end. Failed. */
  | 'slow_cycle'
  /** Armed only after the splice diameter was passed. Good, late. */
  | 'late'
  /** Somebody presses the button early; the cycle resets without a transfer. Aborted, then a good one. */
  | 'aborted'
  /** The stop takes half as long again, within what the festoon holds. Good, slow. */
  | 'sluggish'

export interface RollPlan {
  trouble: Trouble | undefined
  /** From the roll change until the waiting roll is loaded, prepared and armed, s. */
  readyAfterS: number
  /** Factor on the splicer's usual stop time. */
  stopFactor: number
  /** Where the joint opens: web behind the festoon's exit, as share of the path to the end of the process. */
  breakAtPathShare: number
  /** Stand still once in the middle of this roll. */
  hasPlannedStop: boolean
  /** Run a part of this roll at this share of the usual speed; 1 for no change. */
  slowFactor: number
  /** Web of the roll that follows, in seconds at the usual speed. */
  nextRollS: number
}

export interface ScriptMakeup {
  /** The first trouble shown; after it all of `troubles` come in random order. */
  firstTrouble: Trouble
  troubles: readonly Trouble[]
  readyAfterS: readonly [number, number]
  rollS: readonly [number, number]
}

/** One splice in so many goes wrong. */
const BLOCK = 4

export class Script {
  private readonly makeup: ScriptMakeup
  private readonly random: Random
  private block: (Trouble | undefined)[] = []
  private bag: Trouble[]
  private count = 0
  private lastTrouble: Trouble | undefined

  constructor(makeup: ScriptMakeup, random: Random) {
    this.makeup = makeup
    this.random = random
    this.bag = [makeup.firstTrouble]
  }

  next(): RollPlan {
    const isFirst = this.count === 0
    const trouble = isFirst ? undefined : this.nextTrouble()
    this.count++
    const plan: RollPlan = {
      trouble,
      readyAfterS: this.random.between(...this.makeup.readyAfterS),
      stopFactor: this.stopFactor(trouble),
      breakAtPathShare: this.random.between(0.2, 0.45),
      // Never beside a trouble: the pause would stretch the time between two splices too far.
      hasPlannedStop: !isFirst && !trouble && !this.lastTrouble && this.random.next() < 0.35,
      slowFactor: !isFirst && this.random.next() < 0.6 ? this.random.between(0.82, 0.9) : 1,
      nextRollS: this.random.between(...this.makeup.rollS),
    }
    this.lastTrouble = trouble
    return plan
  }

  private nextTrouble(): Trouble | undefined {
    if (this.block.length === 0) {
      // The first block shows its trouble early, so that there is something to look at within ten minutes.
      const place = this.random.index(this.count === 1 ? 2 : BLOCK)
      this.block = Array.from({ length: BLOCK }, (_, index) => (index === place ? this.draw() : undefined))
    }
    return this.block.shift()
  }

  private draw(): Trouble | undefined {
    const drawn = this.bag.shift()
    if (this.bag.length === 0) this.bag = this.random.shuffled(this.makeup.troubles)
    return drawn
  }

  private stopFactor(trouble: Trouble | undefined): number {
    if (trouble === 'slow_cycle') return this.random.between(4, 5)
    if (trouble === 'sluggish') return this.random.between(1.4, 1.55)
    return this.random.between(0.96, 1.04)
  }
}
