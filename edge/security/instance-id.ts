/** A name for this installation that stays over restarts: brokers know a client by it and keep messages for it. */
import { randomBytes } from 'node:crypto'
import { mkdir, readFile, writeFile } from 'node:fs/promises'
import { join } from 'node:path'
import { fileReasonOf, LastwrapError } from '../errors.ts'

const SHAPE = /^[0-9a-f]{16}$/

/** Reads `<dataDir>/instance-id`, or makes it on the first start. */
export async function instanceId(dataDir: string): Promise<string> {
  const file = join(dataDir, 'instance-id')
  await mkdir(dataDir, { recursive: true })
  const made = randomBytes(8).toString('hex')
  try {
    await writeFile(file, `${made}\n`, { flag: 'wx', mode: 0o600 })
    return made
  } catch (thrown) {
    if ((thrown as NodeJS.ErrnoException).code !== 'EEXIST') {
      throw new LastwrapError(
        'store_failing',
        `The file ${file} can't be written (${fileReasonOf(thrown)}): name a data folder that can with --data.`,
        {
          cause: thrown,
        },
      )
    }
  }
  const kept = (await readFile(file, 'utf8')).trim()
  if (SHAPE.test(kept)) return kept
  throw new LastwrapError('wrong_input', `The file ${file} holds no instance id: remove it, and a new one is made.`)
}
