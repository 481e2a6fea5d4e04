/** The verb `replay`: a recording in, three CSV files out. */
import { constants } from 'node:fs'
import { access, mkdir } from 'node:fs/promises'
import { join } from 'node:path'
import { systemClock } from '../clock.ts'
import { loadConfigFile } from '../config/load.ts'
import { recordingTags } from '../config/tags.ts'
import { LastwrapError, reasonOf } from '../errors.ts'
import { CsvWriter } from '../outputs/csv.ts'
import { replayFile } from '../replay.ts'
import type { RecordingReport } from '../sources/recording.ts'
import { nothingRead } from './nothing-read.ts'
import { Progress } from './progress.ts'

export interface ReplayVerbOptions {
  config: string
  recording: string
  out: string
  every: number
}

export async function replayVerb(options: ReplayVerbOptions): Promise<void> {
  const { config, warnings } = loadConfigFile(options.config)
  for (const warning of warnings) console.error(`Note: ${warning}`)
  // A recording that can't be read must not cost the results of the last one.
  await access(options.recording, constants.R_OK).catch((thrown: unknown) => {
    throw new LastwrapError(
      'wrong_input',
      `The recording ${options.recording} can't be read (${reasonOf(thrown)}): name a CSV file with the columns time, tag, value and optionally quality.`,
    )
  })
  await mkdir(options.out, { recursive: true }).catch((thrown: unknown) => {
    throw new LastwrapError(
      'wrong_input',
      `The folder ${options.out} can't be made (${reasonOf(thrown)}): name one that can.`,
    )
  })
  const forecasts = new CsvWriter('forecast', join(options.out, 'forecast.csv'))
  const splices = new CsvWriter('splices', join(options.out, 'splices.csv'))
  const alarms = new CsvWriter('alarms', join(options.out, 'alarms.csv'))
  const writers = [forecasts, splices, alarms]
  const counts = { forecasts: 0, splices: 0, alarms: 0, faults: 0 }
  const progress = new Progress()
  let report: RecordingReport
  try {
    report = await replayFile(
      config,
      options.recording,
      {
        forecast: (row) => {
          counts.forecasts += 1
          forecasts.write(row)
        },
        alarm: (row) => {
          counts.alarms += 1
          alarms.write(row)
        },
        splice: (row) => {
          counts.splices += 1
          splices.write(row)
        },
        fault: (unwind, reason) => {
          counts.faults += 1
          if (counts.faults <= 3) console.error(`The calculation of ${unwind} failed and was restarted: ${reason}`)
        },
      },
      {
        everyS: options.every,
        pause: async () => {
          for (const writer of writers) await writer.ready()
        },
        onProgress: (share, tMs) =>
          progress.show(
            `${Math.round(share * 100)} % read, at ${new Date(tMs).toISOString()}, ${counts.splices} splices, ${counts.alarms} alarm events`,
            systemClock.nowMs(),
          ),
      },
    )
  } finally {
    progress.done()
    for (const writer of writers) await writer.close()
  }
  conclude(options, report, recordingTags(config).mapped, counts)
}

/** What was read and what was left out; problems go to standard error. */
function conclude(
  options: ReplayVerbOptions,
  report: RecordingReport,
  mapped: readonly { key: string; text: string }[],
  counts: { forecasts: number; splices: number; alarms: number },
): void {
  const missing = mapped.filter(({ key }) => !report.seen.has(key))
  if (missing.length === mapped.length) {
    throw nothingRead(options.recording, options.config, report)
  }
  for (const { text } of missing) {
    console.error(`Warning: the recording ${options.recording} holds no row of ${text}, which ${options.config} maps.`)
  }
  if (report.malformed > 0) {
    const told = report.faults.map(({ line, reason }) => `line ${line}: ${reason}`).join('; ')
    const more = report.malformed > report.faults.length ? '; and more' : ''
    console.error(`Warning: ${report.malformed} rows of ${options.recording} were skipped (${told}${more}).`)
  }
  if (report.cutShort !== undefined) {
    console.error(report.cutShort)
    process.exitCode = 1
  }
  if (process.stdout.isTTY === true) {
    console.log(
      `${report.rows} rows read; ${counts.forecasts} forecasts, ${counts.splices} splices and ${counts.alarms} alarm events written to ${options.out}.`,
    )
  }
}
