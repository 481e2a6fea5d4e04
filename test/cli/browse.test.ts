/** What `browse` says before it asks anybody. */
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, expect, it, vi } from 'vitest'
import { browseVerb } from '../../edge/cli/browse.ts'

let data: string
beforeEach(() => {
  data = mkdtempSync(join(tmpdir(), 'lastwrap-browse-'))
})
afterEach(() => {
  rmSync(data, { recursive: true })
  vi.unstubAllEnvs()
})

it('names its own option where the password is missing, and not a key of the config', async () => {
  vi.stubEnv('LASTWRAP_PASSWORD', undefined)
  const asked = browseVerb('mqtt://127.0.0.1:9', {
    user: 'monitor',
    policy: 'Basic256Sha256',
    mode: 'sign_and_encrypt',
    data,
    timeout: 1,
  })
  await expect(asked).rejects.toMatchObject({
    code: 'wrong_input',
    message:
      'The password of monitor is missing: put it into the environment variable LASTWRAP_PASSWORD, or into a file that --password-file names.',
  })
})
