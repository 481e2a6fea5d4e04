/** A simulation through the very pipeline that runs live, in memory. */
import type { SpliceView } from '../../edge/api/messages.ts'
import type { AlarmRow, ForecastRow } from '../../edge/columns.ts'
import { loadConfigText } from '../../edge/config/load.ts'
import { Replay, type ReplaySink } from '../../edge/replay.ts'
import type { Sample } from '../../edge/sample.ts'
import type { RecordingRow } from '../truth/recording-file.ts'

export interface Said {
  forecast: ForecastRow[]
  splices: SpliceView[]
  alarms: AlarmRow[]
  faults: string[]
}

export interface Recorded {
  config: string
  rows: readonly RecordingRow[]
}

/** In order of time, as a replay from a file delivers them. */
export function samplesOf(rows: readonly RecordingRow[]): Sample[] {
  const samples = rows.map(({ tMs, source, address, value, quality }) => ({
    ...{ tMs, source, address, value, quality },
    arrivalTMs: tMs,
  }))
  const isOrdered = samples.every(({ tMs }, i) => i === 0 || samples[i - 1]!.tMs <= tMs)
  return isOrdered ? samples : samples.sort((a, b) => a.tMs - b.tMs)
}

export function newReplay(
  config: string,
  more: Pick<ReplaySink, 'joint' | 'jointEvent' | 'countDifference'> = {},
): { replay: Replay; said: Said } {
  const said: Said = { forecast: [], splices: [], alarms: [], faults: [] }
  const replay = new Replay(loadConfigText(config, 'simulated.yaml').config, {
    forecast: (row) => said.forecast.push(row),
    splice: (row) => said.splices.push(row),
    alarm: (row) => said.alarms.push(row),
    ...more,
    fault: (unwind, reason) => said.faults.push(`${unwind}: ${reason}`),
  })
  return { replay, said }
}

/** @throws Error where a pipeline failed on the way: that is never right. */
export function replaySimulation({ config, rows }: Recorded): Said {
  const { replay, said } = newReplay(config)
  replay.take(samplesOf(rows))
  replay.finish()
  if (said.faults.length > 0) throw new Error(`the pipeline failed: ${said.faults[0]} (${said.faults.length} times)`)
  return said
}

/** Runs to `splitTMs`, keeps what the pipeline knows as plain data, and goes on in a fresh one. */
export function replayInTwo(config: string, rows: readonly RecordingRow[], splitTMs: number): Said {
  const samples = samplesOf(rows)
  const at = samples.findIndex((sample) => sample.tMs > splitTMs)
  const before = newReplay(config)
  before.replay.take(samples.slice(0, at))
  // Brings the first part to its last full step, as a daemon that is stopped between two steps.
  before.replay.take([{ ...samples[at]!, source: 'nobody', tMs: samples[at]!.tMs }])
  const kept = JSON.parse(JSON.stringify(before.replay.unwinds.snapshots())) as { unwind: string; data: unknown }[]
  const after = newReplay(config)
  for (const { unwind, data } of kept) after.replay.unwinds.restore(unwind, data)
  after.replay.take(samples.slice(at))
  after.replay.finish()
  const [fault] = [...before.said.faults, ...after.said.faults]
  if (fault !== undefined) throw new Error(`the pipeline failed: ${fault}`)
  const splices = new Map([...before.said.splices, ...after.said.splices].map((splice) => [splice.id, splice]))
  return {
    forecast: [...before.said.forecast, ...after.said.forecast],
    alarms: [...before.said.alarms, ...after.said.alarms],
    splices: [...splices.values()],
    faults: [],
  }
}
