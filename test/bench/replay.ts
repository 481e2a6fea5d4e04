/**
 * `npm run bench:replay`: how long the command takes for 8 hours of one unwind with 8 tags at 10 Hz (2.3 million rows), and
 * how that compares with only parsing the same CSV. The work is asked for in wall time on one core.
 */
import { spawnSync } from 'node:child_process'
import {
  createReadStream,
  createWriteStream,
  mkdtempSync,
  readFileSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { performance } from 'node:perf_hooks'
import { finished } from 'node:stream/promises'
import { parse } from 'csv-parse'
import { simulate } from '../truth/line-simulator.ts'
import { recordingCsv } from '../truth/recording-file.ts'
import { USUAL } from '../truth/scenario.ts'

const hours = Number(process.argv[2] ?? 8)
const folder = mkdtempSync(join(tmpdir(), 'lastwrap-bench-'))
const progress = (text: string): void => {
  if (process.stderr.isTTY) process.stderr.write(`\r\x1b[K${text}`)
}
const seconds = (sinceMs: number): number => (performance.now() - sinceMs) / 1000

try {
  progress(`simulating ${hours} h …`)
  const began = performance.now()
  const run = simulate({ signals: USUAL, durationS: hours * 3600, rollS: 1800, preparationS: 300 })
  writeFileSync(join(folder, 'config.yaml'), run.config)
  const path = join(folder, 'recording.csv')
  const file = createWriteStream(path)
  for (let i = 0; i < run.rows.length; i += 100_000) {
    const text = recordingCsv(run.rows.slice(i, i + 100_000), 'ms')
    file.write(i === 0 ? text : text.slice(text.indexOf('\n') + 1))
  }
  file.end()
  await finished(file)
  const generateS = seconds(began)
  console.log(
    `recording   ${run.rows.length} rows, ${(statSync(path).size / 1e6).toFixed(0)} MB, generated in ${generateS.toFixed(1)} s`,
  )

  progress('parsing …')
  const parseBegan = performance.now()
  let rows = 0
  for await (const _row of createReadStream(path).pipe(parse({ from_line: 2 }))) rows++
  const parseS = seconds(parseBegan)
  console.log(`csv parsing ${parseS.toFixed(1)} s (${(rows / parseS / 1000).toFixed(0)} k rows/s, general parser)`)

  const splitBegan = performance.now()
  let cells = 0
  for (const line of readFileSync(path, 'utf8').split('\n')) cells += line.split(',').length
  const splitS = seconds(splitBegan)
  console.log(`splitting   ${splitS.toFixed(1)} s (${(cells / 1e6).toFixed(1)} M cells, the least there is to do)`)

  progress('replaying …')
  const main = join(import.meta.dirname, '../../edge/main.ts')
  const out = join(folder, 'out')
  const replayBegan = performance.now()
  const ended = spawnSync(
    process.execPath,
    [main, 'replay', '--config', join(folder, 'config.yaml'), '--recording', path, '--out', out],
    { encoding: 'utf8' },
  )
  const replayS = seconds(replayBegan)
  progress('')
  if (ended.status !== 0) throw new Error(`replay ended with status ${ended.status}: ${ended.stderr}`)
  const said = readFileSync(join(out, 'splices.csv'), 'utf8').trimEnd().split('\n').length - 1
  console.log(
    `replay      ${replayS.toFixed(1)} s (${(run.rows.length / replayS / 1000).toFixed(0)} k rows/s), ` +
      `${(replayS / parseS).toFixed(1)} × csv parsing, ${(replayS / splitS).toFixed(1)} × splitting; ` +
      `${said} splices (${run.splices.length} happened)`,
  )
} finally {
  rmSync(folder, { recursive: true, force: true })
}
