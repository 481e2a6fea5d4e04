import { describe, expect, it } from 'vitest'
import { applyMessage, initialState } from '../../dashboard/live/state.ts'
import { forScreen, ViewChanges } from '../../edge/api/view-changes.ts'
import { ASSESS_MS } from '../../edge/pipeline.ts'
import { StandInDaemon } from '../support/daemon-port.ts'
import { noisyLanes } from '../support/noisy-lanes.ts'

const START_MS = Date.parse('2026-03-02T06:00:00Z')
/** The limit for 12 unwinds, bytes a second. */
const MOST_BYTES_PER_S = 10_000

const plant = (count: number) => {
  let tMs = START_MS
  const daemon = new StandInDaemon({ nowMs: () => tMs })
  const lanes = noisyLanes(count)
  return () => {
    tMs += ASSESS_MS
    return { time: new Date(tMs).toISOString(), unwinds: lanes(daemon.unwinds()) }
  }
}

describe('what changed', () => {
  it('of 12 noisy unwinds twice a second takes less than 10 kB a second', () => {
    const look = plant(12)
    const changes = new ViewChanges()
    const first = look()
    expect(changes.next(first.time, first.unwinds)).toBeUndefined()
    let bytes = 0
    const seconds = 60
    for (let i = 0; i < (seconds * 1000) / ASSESS_MS; i++) {
      const { time, unwinds } = look()
      bytes += Buffer.byteLength(`event: changes\ndata: ${JSON.stringify(changes.next(time, unwinds))}\n\n`)
    }
    expect(bytes / seconds).toBeLessThan(MOST_BYTES_PER_S)
    // No unwind is told of more often than twice a second.
    expect(ASSESS_MS).toBeGreaterThanOrEqual(500)
    // Something is told at all.
    expect(bytes / seconds).toBeGreaterThan(1000)
  })

  it('put together in a browser is what a whole view would have said', () => {
    const look = plant(4)
    const changes = new ViewChanges()
    const first = look()
    changes.next(first.time, first.unwinds)
    let state = applyMessage(
      initialState(0),
      { event: 'unwinds', data: { time: first.time, unwinds: first.unwinds.map(forScreen) } },
      0,
    )
    for (let i = 0; i < 50; i++) {
      const { time, unwinds } = look()
      // An alarm comes and goes, and one view is older than its message.
      const views = unwinds.map((view, index) => ({
        ...view,
        ...(index === 1 && i % 7 < 3 ? { time: first.time } : { time }),
        ...(index === 2 && i % 5 < 2 ? { reason: 'No value of line_speed from line_plc.' } : {}),
      }))
      const data = changes.next(time, views)
      if (data === undefined) throw new Error('No unwind came or went, so changes must do.')
      state = applyMessage(state, { event: 'changes', data }, i)
      expect(state.unwinds).toEqual(views.map(forScreen))
    }
  })

  it('is told whole again when an unwind came or went', () => {
    const look = plant(4)
    const changes = new ViewChanges()
    const { time, unwinds } = look()
    changes.next(time, unwinds)
    expect(changes.next(time, unwinds)).toEqual({ time, unwinds: {} })
    expect(changes.next(time, unwinds.slice(1))).toBeUndefined()
    expect(changes.next(time, unwinds)).toBeUndefined()
  })

  it('rounds no figure so that its meaning changes', () => {
    const [view] = plant(1)().unwinds
    const shown = forScreen({
      ...view!,
      seconds_to_splice: 437.2614,
      metres_to_splice: 12_905.2,
      buffer_margin: -0.0512,
      line_speed: 299.84,
      diameter: 1203.44,
      core_diameter: 76.2,
    })
    expect(shown).toMatchObject({
      seconds_to_splice: 437.3,
      metres_to_splice: 12_910,
      buffer_margin: -0.05,
      line_speed: 299.8,
      diameter: 1203,
      core_diameter: 76.2,
      alarms: view!.alarms,
      unwind: view!.unwind,
    })
    expect(forScreen({ ...view!, seconds_to_splice: 2580.3 }).seconds_to_splice).toBe(2580)
  })
})
