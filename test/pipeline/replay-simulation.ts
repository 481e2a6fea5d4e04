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
export const samplesOf = (rows: readonly RecordingRow[]): Sample[] =>
  rows.map((row) => ({ ...row, arrivalTMs: row.tMs })).sort((a, b) => a.tMs - b.tMs)

export function newReplay(
  config: string,
  more: Pick<ReplaySink, 'joint' | 'countDifference'> = {},
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
