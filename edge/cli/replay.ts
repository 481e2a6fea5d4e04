/** The verb `replay`: a recording in, three CSV files out. */
import { constants } from 'node:fs'
import { access } from 'node:fs/promises'
import { systemClock } from '../clock.ts'
import { loadConfigFile } from '../config/load.ts'
import { recordingTags } from '../config/tags.ts'
import { fileReasonOf, LastwrapError } from '../errors.ts'
import { isoTime } from '../outcome/record.ts'
import { replayFile } from '../replay.ts'
import type { RecordingReport } from '../sources/recording.ts'
import { nothingRead } from './nothing-read.ts'
import { Progress } from './progress.ts'
import { ResultFiles } from './result-files.ts'
import { plural } from './table.ts'

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
      `The recording ${options.recording} can't be read (${fileReasonOf(thrown)}): name a CSV file with the columns time, tag, value and optionally quality.`,
    )
  })
  const files = await ResultFiles.open(options.out, console.error)
  const counts = { forecasts: 0, splices: 0, alarms: 0, faults: 0 }
  const progress = new Progress()
  const ending = endedBySignal()
  const { mapped } = recordingTags(config)
  let report: RecordingReport
  try {
    report = await replayFile(
      config,
      options.recording,
      {
        forecast: (row) => {
          counts.forecasts += 1
          files.forecasts.write(row)
        },
        alarm: (row) => {
          counts.alarms += 1
          files.alarms.write(row)
        },
        splice: (row) => {
          counts.splices += 1
          files.splices.write(row)
        },
        fault: (unwind, reason) => {
          counts.faults += 1
          if (counts.faults <= 3) console.error(`The calculation of ${unwind} failed and was restarted: ${reason}`)
        },
      },
      {
        everyS: options.every,
        pause: async () => {
          await files.ready()
          if (ending.isAsked()) {
            throw new LastwrapError('interrupted', `The replay was ended early: ${options.out} is as it was before.`)
          }
        },
        onProgress: (share, tMs) =>
          progress.show(
            `${Math.round(share * 100)} % read, at ${new Date(tMs).toISOString()}, ${counts.splices} splices, ${counts.alarms} alarm events`,
            systemClock.nowMs(),
          ),
      },
    )
    if (mapped.every(({ key }) => !report.seen.has(key))) throw nothingRead(options.recording, options.config, report)
    await files.keep()
  } catch (thrown) {
    await files.drop()
    throw thrown
  } finally {
    progress.done()
    ending.forget()
  }
  conclude(options, report, mapped, counts)
}

/** Whether a person asked for the end: what was begun is taken back then. */
function endedBySignal(): { isAsked: () => boolean; forget: () => void } {
  const signals = ['SIGINT', 'SIGTERM'] as const
  let isAsked = false
  const ask = (): void => {
    isAsked = true
  }
  for (const signal of signals) process.once(signal, ask)
  return {
    isAsked: () => isAsked,
    forget: () => {
      for (const signal of signals) process.off(signal, ask)
    },
  }
}

/** What was read and what was left out; problems go to standard error. */
function conclude(
  options: ReplayVerbOptions,
  report: RecordingReport,
  mapped: readonly { key: string; text: string }[],
  counts: { forecasts: number; splices: number; alarms: number },
): void {
  const missing = mapped.filter(({ key }) => !report.seen.has(key))
  for (const { text } of missing) {
    console.error(`Warning: the recording ${options.recording} holds no row of ${text}, which ${options.config} maps.`)
  }
  if (report.malformed > 0) {
    const told = report.faults.map(({ line, reason }) => `line ${line}: ${reason}`).join('; ')
    const more = report.malformed > report.faults.length ? '; and more' : ''
    const rows = `${plural(report.malformed, 'row')} of ${options.recording} ${report.malformed === 1 ? 'was' : 'were'} skipped`
    console.error(`Warning: ${rows} (${told}${more}).`)
  }
  if (report.cutShort !== undefined) {
    console.error(report.cutShort)
    process.exitCode = 1
  }
  const { firstTMs, lastTMs } = report
  const span =
    firstTMs === undefined || lastTMs === undefined ? '' : ` from ${isoTime(firstTMs)} to ${isoTime(lastTMs)}`
  const results = `${plural(counts.splices, 'splice')}, ${plural(counts.alarms, 'alarm event')}`
  console.log(`${plural(report.rows, 'row')} read${span}: ${results}; the results are in ${options.out}.`)
}
