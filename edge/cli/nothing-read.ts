/** Why a recording gave nothing: the rows themselves, or tags that the config does not map. */
import { LastwrapError } from '../errors.ts'
import type { RecordingReport } from '../sources/recording.ts'

export function nothingRead(recording: string, configFile: string, report: RecordingReport): LastwrapError {
  const [first] = report.faults
  const sentence =
    report.rows === 0
      ? `The recording ${recording} has a header and 0 rows: record anew, and look at what the tags say with "lastwrap check".`
      : first !== undefined && report.malformed === report.rows
        ? `No row of the recording ${recording} can be read; line ${first.line}: ${first.reason}.`
        : `The recording ${recording} holds none of the tags that ${configFile} maps: compare its column tag with the addresses in the config.`
  return new LastwrapError('wrong_input', sentence)
}
