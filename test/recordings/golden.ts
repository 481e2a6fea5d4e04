/** The committed cases: each folder holds a config and a recording, and what `replay` writes for them. */
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { replayVerb } from '../../edge/cli/replay.ts'

export const CASES_FOLDER = import.meta.dirname
export const EXPECTED_FILES = ['forecast.csv', 'splices.csv', 'alarms.csv'] as const

export const goldenCases = (): string[] =>
  readdirSync(CASES_FOLDER, { withFileTypes: true })
    .filter((entry) => entry.isDirectory() && existsSync(join(CASES_FOLDER, entry.name, 'config.yaml')))
    .map((entry) => entry.name)
    .sort()

/** Replays one case through the verb and gives the text of each file that it wrote. */
export async function replayCase(name: string): Promise<Record<string, string>> {
  const folder = join(CASES_FOLDER, name)
  const out = mkdtempSync(join(tmpdir(), 'lastwrap-golden-'))
  try {
    const gzip = join(folder, 'recording.csv.gz')
    const recording = existsSync(gzip) ? gzip : join(folder, 'recording.csv')
    await replayVerb({ config: join(folder, 'config.yaml'), recording, out, every: 1 })
    return Object.fromEntries(EXPECTED_FILES.map((file) => [file, readFileSync(join(out, file), 'utf8')]))
  } finally {
    rmSync(out, { recursive: true, force: true })
  }
}
