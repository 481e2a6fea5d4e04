import { join } from 'node:path'
import { expect, it } from 'vitest'
import { SnapshotDesk } from '../../edge/history/snapshot-desk.ts'
import { newReplay, samplesOf } from '../pipeline/replay-simulation.ts'
import { simulate } from '../truth/line-simulator.ts'
import { START_MS, storeAt, temporaryFolder } from './store-for-tests.ts'

it('writes the charts of trends when a splice changed them, and gives back the whole', () => {
  const store = storeAt(join(temporaryFolder(), 'history.db'))
  const written: string[] = []
  const desk = new SnapshotDesk({
    putSnapshot: (key, tMs, data) => {
      written.push(key)
      store.putSnapshot(key, tMs, data)
    },
    snapshot: (key) => store.snapshot(key),
  })
  const { config, rows, splices } = simulate({ rollS: 60, firstRoll: 1, durationS: 150, preparationS: 20 })
  const { replay } = newReplay(config)
  const samples = samplesOf(rows)
  const untilTMs = (tMs: number) => samples.filter((one) => one.tMs <= tMs)
  const startedTMs = splices[0]!.startedTMs
  const keep = () => {
    const [{ unwind, data }] = replay.unwinds.snapshots() as [{ unwind: string; data: unknown }]
    desk.put(unwind, START_MS, data)
    return { unwind, data }
  }
  replay.take(untilTMs(startedTMs - 2000))
  keep()
  keep()
  expect(written).toEqual(['trends:label_press', 'unwind:label_press', 'unwind:label_press'])
  replay.take(samples.slice(untilTMs(startedTMs - 2000).length))
  const { unwind, data } = keep()
  expect(written.slice(3)).toEqual(['trends:label_press', 'unwind:label_press'])
  expect(desk.of(unwind)).toEqual(JSON.parse(JSON.stringify(data)))
  // Another desk over the same store, after a restart.
  expect(new SnapshotDesk(store).of(unwind)).toEqual(JSON.parse(JSON.stringify(data)))
  expect(desk.of('coater')).toBeUndefined()
})

it('gives an unwind without its charts, and one of another shape, as it is', () => {
  const store = storeAt(join(temporaryFolder(), 'history.db'))
  store.putSnapshot('unwind:a', START_MS, { version: 1, parts: { trends: { taken: [] }, web: 1 } })
  store.putSnapshot('unwind:b', START_MS, 'scribble')
  const desk = new SnapshotDesk(store)
  expect(desk.of('a')).toEqual({ version: 1, parts: { trends: { taken: [], watch: { charts: [] } }, web: 1 } })
  expect(desk.of('b')).toBe('scribble')
})
