/**
 * One daemon per data folder: two would write the same history and take the broker's session from each other.
 *
 * The lock is a file with the process's number. One that a killed process left behind holds nobody.
 */
import { readFileSync, rmSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { fileReasonOf, LastwrapError } from '../errors.ts'
import { runsLastwrap } from './running-process.ts'

/** @returns what gives the folder back. @throws LastwrapError where another daemon has it. */
export function lockData(dataDir: string): () => void {
  const file = join(dataDir, 'lock')
  const holder = holderOf(file)
  if (holder !== undefined) {
    throw new LastwrapError(
      'wrong_input',
      `The data folder ${dataDir} is in use by another Lastwrap (process ${holder}): stop that one, or name another folder with --data.`,
    )
  }
  try {
    writeFileSync(file, `${process.pid}\n`, { mode: 0o600 })
  } catch (thrown) {
    throw new LastwrapError(
      'wrong_input',
      `The data folder ${dataDir} can't be written (${fileReasonOf(thrown)}): name one that can with --data.`,
      { cause: thrown },
    )
  }
  return () => rmSync(file, { force: true })
}

/** The process that holds the folder now; undefined where none does. */
function holderOf(file: string): number | undefined {
  let pid: number
  try {
    pid = Number(readFileSync(file, 'utf8').trim())
  } catch (thrown) {
    if ((thrown as NodeJS.ErrnoException).code === 'ENOENT') return undefined
    throw new LastwrapError('wrong_input', `The file ${file} can't be read (${fileReasonOf(thrown)}): remove it.`, {
      cause: thrown,
    })
  }
  return runsLastwrap(pid) ? pid : undefined
}
