/** The output as the daemon has it: real store, real clock, real client; only the pauses are short. */
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { onTestFinished, vi } from 'vitest'
import { systemClock } from '../../edge/clock.ts'
import type { DatabaseConfig } from '../../edge/config/config.ts'
import { DEFAULT_KEEP, openStore } from '../../edge/history/sqlite-store.ts'
import { BufferedOutput } from '../../edge/outputs/buffered.ts'
import { type DatabaseSecrets, InfluxSender } from '../../edge/outputs/influx.ts'
import type { Point } from '../../edge/outputs/output.ts'

/** A whole second an hour ago: inside every retention, and never "now". */
export const FIRST_MS = Math.floor((systemClock.nowMs() - 3_600_000) / 1000) * 1000

export const numbered = (n: number): Point => ({
  measurement: 'signal',
  tags: { site: 'Alder Quay Works', unwind: 'label_press' },
  fields: { n },
  tMs: FIRST_MS + n * 100,
})

export function spooledOutput(config: DatabaseConfig, secrets: DatabaseSecrets = {}) {
  const folder = mkdtempSync(join(tmpdir(), 'lastwrap-spool-'))
  const store = openStore(join(folder, 'history.db'), { clock: systemClock, keep: DEFAULT_KEEP })
  const sender = new InfluxSender(config, secrets)
  const output = new BufferedOutput({ store, sender, clock: systemClock, mostInBatch: 1000, firstPauseMs: 100 })
  output.start()
  onTestFinished(async () => {
    await output.stop()
    store.close()
    rmSync(folder, { recursive: true, force: true })
  })
  const write = (points: readonly Point[]): void => output.write(points)
  const until = (isSo: () => boolean): Promise<void> =>
    vi.waitFor(
      () => {
        if (!isSo()) throw new Error(`still ${JSON.stringify(output.health())}`)
      },
      { timeout: 40_000, interval: 20 },
    )
  const emptied = (): Promise<void> => until(() => output.health().waiting === 0)
  return { store, output, write, until, emptied }
}

/** Writes points 0 to `count`, a few at a time, and has the database away in the middle for a while. */
export async function writeThroughOutage(
  set: ReturnType<typeof spooledOutput>,
  count: number,
  outage: { begin(): Promise<void>; end(): Promise<void> },
): Promise<void> {
  const piece = (from: number, to: number): void => {
    for (let n = from; n < to; n += 500) {
      set.write(Array.from({ length: Math.min(500, to - n) }, (_, i) => numbered(n + i)))
    }
  }
  piece(0, count / 2)
  // Away while a batch is on its way, not between two of them.
  await set.until(() => set.output.health().sent > 0)
  await outage.begin()
  piece(count / 2, count)
  await set.until(() => set.output.health().state === 'waiting' && set.store.spooled(count).length > count / 2 - 1)
  await outage.end()
  await set.emptied()
}
