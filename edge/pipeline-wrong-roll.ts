/**
 * A roll that the job can't take and that runs all the same: what was known of it while it waited is remembered, for afterwards
 * the tags speak of the roll behind it. Pure; plain data.
 */
import { type RollFault, rollFaults } from './advice/wrong-roll.ts'
import type { Words } from './messages/render.ts'
import { needsOf, type RollFaultsInput, waitingMaterialOf, waitingRollFaults } from './pipeline-entries.ts'
import { copyOf } from './plain-data.ts'
import type { EnteredRoll } from './signals/entered.ts'

interface KnownRoll {
  roll: EnteredRoll | null
  material: string | null
}

export interface WrongRollState {
  waiting: KnownRoll | null
  running: KnownRoll | null
}

/** What is wrong with a roll, without what to do about it. */
export const faultWords = ({ kind, needed, found }: RollFault): Words => ({
  key: `roll.fault.${kind}`,
  parameters: { needed, found },
})

export class WrongRoll {
  #waiting: KnownRoll | null = null
  #running: KnownRoll | null = null

  /** Once per look. In a cycle nothing is remembered anew: the tags may be a roll ahead. */
  look(input: RollFaultsInput, isInCycle: boolean): void {
    if (isInCycle) return
    const isRefused = waitingRollFaults(input).length > 0
    const { waiting } = input.signals.entered
    this.#waiting = isRefused ? copyOf({ roll: waiting ?? null, material: waitingMaterialOf(input) ?? null }) : null
  }

  rollChanged(): void {
    this.#running = this.#waiting
    this.#waiting = null
  }

  /** Undefined where the running roll is none of these, or the job has become one that takes it. */
  fault(input: RollFaultsInput): Words | undefined {
    if (this.#running === null) return undefined
    const { roll, material } = this.#running
    const [first] = rollFaults(needsOf(input), roll ?? undefined, material ?? undefined)
    return first === undefined ? undefined : faultWords(first)
  }

  snapshot(): WrongRollState {
    return copyOf({ waiting: this.#waiting, running: this.#running })
  }

  restore(state: WrongRollState): void {
    const { waiting, running } = copyOf(state)
    this.#waiting = waiting
    this.#running = running
  }
}
