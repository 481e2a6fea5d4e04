/** A file that can't be used is named once, with what to do, and without the system's own code. */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, expect, test } from 'vitest'
import { makeDataDir } from '../../edge/cli/data-dir.ts'
import { lockData } from '../../edge/history/data-lock.ts'
import { instanceId } from '../../edge/security/instance-id.ts'
import { loadTls } from '../../edge/security/tls.ts'
import { connectMqtt } from '../../edge/sources/mqtt-connect.ts'
import { testPorts } from '../support/recording-listener.ts'

const folder = mkdtempSync(join(tmpdir(), 'lastwrap-missing-'))
afterAll(() => rmSync(folder, { recursive: true }))
const none = join(folder, 'none.pem')
const file = join(folder, 'file')
writeFileSync(file, '')

const broker = {
  ...{ name: 'hall', url: 'mqtts://127.0.0.1:8883', user: undefined, caFile: none, clientId: undefined },
  ...{ keepAliveS: 2, maxPayloadBytes: 2000 },
}
const tries: Record<string, () => unknown> = {
  [`The file ${none} of sources.hall.ca_file can't be read (no such file or directory): name the one with the certificate of the broker's authority.`]:
    () => connectMqtt(broker, testPorts(folder), () => undefined),
  [`The file ${none} of --ca-file can't be read (no such file or directory): name the one with the certificate of the broker's authority.`]:
    () => connectMqtt({ ...broker, name: undefined }, testPorts(folder), () => undefined),
  [`The file ${none}, which should hold the certificate of the pages, can't be read (no such file or directory): name the right one, readable for the user that runs Lastwrap.`]:
    () => loadTls({ certificateFile: none, keyFile: none }),
  [`The data folder ${file}/data can't be made (file already exists): name one that can be written with --data.`]: () =>
    makeDataDir(join(file, 'data')),
  [`The data folder ${folder}/gone can't be written (no such file or directory): name one that can with --data.`]: () =>
    lockData(join(folder, 'gone')),
}

test.each(Object.entries(tries))('%s', async (sentence, attempt) => {
  await expect((async () => attempt())()).rejects.toMatchObject({ message: sentence })
})

test('a data folder that takes no file is said where it can be changed', async () => {
  await expect(instanceId('/proc')).rejects.toThrow(
    /^The file \/proc\/instance-id can't be written \([a-z ]+\): name a data folder that can with --data\.$/,
  )
})
