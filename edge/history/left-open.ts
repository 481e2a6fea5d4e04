/**
 * Records that an earlier run left open and this one does not go on with: it was killed and its snapshot is of another
 * version, or its plant began anew, as the demo's does with every start. They are finished with what is known.
 */
import type { SpliceView } from '../api/messages.ts'
import { cutShort } from '../outcome/cut-short.ts'
import type { Store } from './store.ts'

/** An unwind has a handful open at once; older ones than these were left by no run that is worth asking about. */
const LOOKED_AT = 50

/**
 * @param run - what it knows by now: `finish` gives those that it goes on with, as they stand.
 * @param onFinished - newest first for each unwind.
 */
export function closeLeftOpen(
  store: Pick<Store, 'splices' | 'tracePoints' | 'putSplice'>,
  run: { readonly ids: readonly string[]; finish(): readonly Pick<SpliceView, 'id'>[] },
  onFinished: (splice: SpliceView) => void,
): void {
  const followed = new Set(run.finish().map(({ id }) => id))
  const isLeft = ({ id, closed }: SpliceView): boolean => !closed && !followed.has(id)
  for (const unwind of run.ids) {
    for (const splice of store.splices({ unwind, limit: LOOKED_AT }).filter(isLeft)) {
      const finished = cutShort(splice, lastSeenTMs(splice, store))
      store.putSplice(finished)
      onFinished(finished)
    }
  }
}

/** The newest that its record or its trace tells of. */
function lastSeenTMs({ id, started, transfer, ended, phases }: SpliceView, store: Pick<Store, 'tracePoints'>): number {
  const times = [started, transfer, ended, ...phases.map((span) => span.started)]
  const known = times.flatMap((time) => (time === null ? [] : Date.parse(time)))
  return Math.max(...known, store.tracePoints(id).at(-1)?.tMs ?? 0)
}
