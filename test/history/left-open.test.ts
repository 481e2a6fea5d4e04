/** Records that a run which is over left open: finished with what is known, once, and only those. */
import { describe, expect, it } from 'vitest'
import type { SpliceView } from '../../edge/api/messages.ts'
import { closeLeftOpen } from '../../edge/history/left-open.ts'
import type { HistoryStore } from '../../edge/history/store.ts'
import { cutShort } from '../../edge/outcome/cut-short.ts'
import { START_MS, spliceView, storeAt, temporaryFolder } from './store-for-tests.ts'

const iso = (tMs: number) => new Date(tMs).toISOString()
const open = (startedTMs: number, changes: Partial<SpliceView> = {}) =>
  spliceView(startedTMs, { outcome: null, cause: null, ended: null, closed: false, transfer: null, ...changes })
const finish = (store: HistoryStore, followed: readonly SpliceView[] = []): SpliceView[] => {
  const finished: SpliceView[] = []
  closeLeftOpen(store, { ids: ['label_press', 'other'], finish: () => followed }, (splice) => finished.push(splice))
  return finished
}
const newStore = () => storeAt(`${temporaryFolder()}/history.sqlite`)

describe('a record that nobody goes on with', () => {
  it('is closed where it was seen last, and its outcome stays unknown', () => {
    const store = newStore()
    const left = open(START_MS, { transfer: iso(START_MS + 2000) })
    store.putSplice(left)
    const [finished, ...more] = finish(store)
    expect(more).toEqual([])
    expect(store.splice(left.id)).toEqual(finished)
    expect(finished).toMatchObject({ closed: true, outcome: null, ended: iso(START_MS + 2000) })
    expect(finished!.details.cut_short).toBe(iso(START_MS + 2000))
    // The next start finds nothing to finish.
    expect(finish(store)).toEqual([])
  })

  it('is good where the new web ran and the buffer was back', () => {
    const ended = iso(START_MS + 40_000)
    const left = open(START_MS, { transfer: iso(START_MS + 2000), ended })
    expect(cutShort(left, START_MS + 50_000)).toMatchObject({ outcome: 'good', ended, closed: true })
  })

  it('keeps a verdict that had fallen, and what is closed or followed is not touched', () => {
    const store = newStore()
    const failed = open(START_MS, { outcome: 'failed', cause: 'web_break' })
    const followed = open(START_MS + 3_600_000)
    const good = spliceView(START_MS + 7_200_000, { outcome: 'good', closed: true })
    for (const splice of [failed, followed, good]) store.putSplice(splice)
    const finished = finish(store, [followed])
    expect(finished.map(({ id, outcome, cause }) => [id, outcome, cause])).toEqual([[failed.id, 'failed', 'web_break']])
    expect(store.splice(followed.id)).toEqual(followed)
    expect(store.splice(good.id)).toEqual(good)
  })
})
