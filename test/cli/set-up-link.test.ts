import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, expect, it, vi } from 'vitest'
import { setUpLink } from '../../edge/cli/set-up-link.ts'
import { AccessStore } from '../../edge/history/access-store.ts'
import { accessFile } from '../../edge/web-access.ts'
import { signInOver } from '../support/memory-access.ts'
import { HandClock } from '../support/start-api.ts'

let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'lastwrap-link-'))
})
afterEach(() => rmSync(folder, { recursive: true }))

it('prints a link that the running monitor takes, and records that it did', async () => {
  const running = new AccessStore(accessFile(folder), { nowMs: () => 0 })
  const printed = vi.spyOn(console, 'log').mockImplementation(() => undefined)
  await setUpLink({ data: folder })
  const [address] = printed.mock.calls[0] as [string]
  printed.mockRestore()
  const [page, token = ''] = address.split('#')
  expect(page).toBe('http://127.0.0.1:8420/set-up')
  const entry = await signInOver(running, new HandClock()).setUp(token, 'Ada', 'tin whistle 9', {
    address: '127.0.0.1',
    browser: undefined,
  })
  expect(entry.kind).toBe('entered')
  expect(running.entries({ limit: 9 }).map(({ action, from, result }) => [action, from, result])).toEqual([
    ['set-up', '127.0.0.1', 'done'],
    ['set-up link', 'command', 'done'],
  ])
  running.close()
})

it('says where accounts would be, where there are none', async () => {
  await expect(setUpLink({ data: folder })).rejects.toMatchObject({
    code: 'wrong_input',
    message: `There are no accounts in ${folder}: start the monitor once, or name its folder with --data.`,
  })
})
