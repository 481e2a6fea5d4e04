/**
 * How long preparing the next roll took, as far as tags show it: when a roll appeared at the waiting position, and when it
 * was ready. Pure; plain data.
 */
import type { SpliceDetails } from '../splice-details.ts'

interface PreparationState {
  /** The roll that runs now was spliced or loaded, ms. */
  sinceTMs: number | null
  loadedTMs: number | null
  readyTMs: number | null
  wasReady: boolean | null
  /** Id of the roll that waited when the running one began. */
  oldId: string | null
}

export interface WaitingRoll {
  /** Undefined where no tag shows it. */
  isThere: boolean | undefined
  id: string | undefined
  isReady: boolean | undefined
}

const fresh = (): PreparationState => ({
  sinceTMs: null,
  loadedTMs: null,
  readyTMs: null,
  wasReady: null,
  oldId: null,
})

export class PreparationWatch {
  #s = fresh()

  step(tMs: number, waiting: WaitingRoll): void {
    const s = this.#s
    const isOther = waiting.id !== undefined && waiting.id !== '' && waiting.id !== s.oldId
    const isThere = waiting.isThere ?? (waiting.id === undefined ? undefined : isOther)
    // Taken away again: whatever comes next is prepared from the beginning.
    if (isThere === false) s.loadedTMs = null
    else if (isThere === true) s.loadedTMs ??= tMs
    if (waiting.isReady === true && s.wasReady === false) s.readyTMs = tMs
    else if (waiting.isReady === false) s.readyTMs = null
    if (waiting.isReady !== undefined) s.wasReady = waiting.isReady
  }

  /** Another roll runs from here on. */
  rollChanged(tMs: number, waitingId: string | undefined): void {
    this.#s = { ...fresh(), sinceTMs: tMs, wasReady: this.#s.wasReady, oldId: waitingId ?? null }
  }

  /** Stages up to the cycle's start; nothing where the roll was ready before anybody watched. */
  stages(startedTMs: number): Pick<SpliceDetails, 'preparation' | 'preparation_seconds'> {
    const { sinceTMs, loadedTMs, readyTMs } = this.#s
    const preparation: SpliceDetails['preparation'] = []
    const add = (stage: SpliceDetails['preparation'][number]['stage'], from: number | null, to: number | null) => {
      if (from !== null && to !== null && to >= from) preparation.push({ stage, seconds: (to - from) / 1000 })
    }
    add('empty', sinceTMs, loadedTMs)
    const begunTMs = loadedTMs ?? sinceTMs
    add('preparing', begunTMs, readyTMs)
    add('ready', readyTMs, startedTMs)
    const preparing = preparation.find(({ stage }) => stage === 'preparing')
    return { preparation, preparation_seconds: preparing?.seconds ?? null }
  }

  snapshot(): PreparationState {
    return { ...this.#s }
  }

  restore(state: PreparationState): void {
    this.#s = { ...state }
  }
}
