/** The folder of `--data`, made where it is missing. */
import { mkdirSync, statSync } from 'node:fs'
import { dirname, resolve } from 'node:path'
import { fileReasonOf, LastwrapError } from '../errors.ts'

/**
 * Level by level: where the system says of a folder's parent that it is there, and of the folder that it has no parent (as
 * below /proc), Node's own way to make all of them at once never ends.
 * @throws LastwrapError `wrong_input` where it can't be made
 */
export function makeDataDir(dataDir: string): void {
  try {
    make(resolve(dataDir))
  } catch (thrown) {
    throw new LastwrapError(
      'wrong_input',
      `The data folder ${dataDir} can't be made (${fileReasonOf(thrown)}): name one that can be written with --data.`,
      { cause: thrown },
    )
  }
}

function make(folder: string): void {
  const stat = statSync(folder, { throwIfNoEntry: false })
  if (stat?.isDirectory() === true) return
  const parent = dirname(folder)
  if (stat === undefined && parent !== folder) make(parent)
  mkdirSync(folder, { mode: 0o700 })
}
