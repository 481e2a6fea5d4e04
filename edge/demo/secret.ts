/** Passwords of the demo plant: made at its first start, kept in a file that only its owner reads. */
import { randomBytes } from 'node:crypto'
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs'
import { dirname } from 'node:path'

/** Reads the password in `file`, or makes one. The file's mode is 0600. */
export const keptPassword = (file: string): string => {
  mkdirSync(dirname(file), { recursive: true, mode: 0o700 })
  const fresh = randomBytes(24).toString('base64url')
  try {
    // `wx` leaves an existing file alone, also when two start at the same moment.
    writeFileSync(file, `${fresh}\n`, { mode: 0o600, flag: 'wx' })
    return fresh
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'EEXIST') throw error
    return readFileSync(file, 'utf8').trim()
  }
}
