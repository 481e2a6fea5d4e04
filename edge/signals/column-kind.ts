/** How a signal's numbers of history and traces are to be read and drawn: unit, words, limits. Pure. */
import type { SignalConfig } from '../config/config.ts'
import { unitIn } from './contract-units.ts'
import { type Meaning, meaningsOf } from './meanings.ts'
import { isStateIn } from './states.ts'

export interface ColumnKind {
  unit: string
  /** Only yes (1) and no (0). */
  is_state: boolean
  /** What its values mean, where its config maps them to words. */
  meanings?: Meaning[]
  /** Of the web guide: either end of its travel, in the unit. */
  ends?: [low: number, high: number]
}

/**
 * @param signals - of one unwind, as its config has them now.
 * @param extra - what its further tags said at the splice.
 */
export function columnKindIn(signals: readonly SignalConfig[], extra: Readonly<Record<string, unknown>>) {
  const unitOf = unitIn(signals)
  const isState = isStateIn(signals, extra)
  return (signal: string): ColumnKind => {
    const own = signals.find((one) => one.signal === signal)
    const meanings = own === undefined ? [] : meaningsOf(own)
    return {
      unit: meanings.length > 0 ? '' : unitOf(signal),
      is_state: isState(signal),
      ...(meanings.length > 0 && { meanings }),
      ...(own?.travel !== undefined && { ends: [...own.travel] }),
    }
  }
}
