/** Sentences name the place where a person corrects it: a key of the config, or an option of `browse`, which has no config. */
import { expect, test } from 'vitest'
import { connectTrouble } from '../../edge/sources/opcua-trouble.ts'

const ENDPOINT = 'opc.tcp://10.1.2.3:4840'
const said = (name: string | undefined, reason: string): string =>
  connectTrouble({ name, endpoint: ENDPOINT }, new Error(reason), undefined).message

test.each([
  ['BadUserAccessDenied', 'correct them under sources.plc.user', 'correct them with --user and --password-file'],
  ['Cannot find ANONYMOUS token', 'name one under sources.plc.user', 'give --user and --password-file'],
  ['Cannot find USERNAME token', 'remove sources.plc.user', 'remove --user'],
  ['getaddrinfo ENOTFOUND', 'correct sources.plc.endpoint', 'correct the endpoint'],
])('%s', (reason, inConfig, inBrowse) => {
  expect(said('plc', reason)).toContain(`plc (${ENDPOINT})`)
  expect(said('plc', reason)).toContain(inConfig)
  expect(said(undefined, reason)).toContain(inBrowse)
  expect(said(undefined, reason)).not.toContain('sources.')
})

test('a look that ends does not promise to try again', () => {
  expect(said('plc', 'connect ECONNREFUSED')).toContain('It is tried again and again.')
  expect(said(undefined, 'connect ECONNREFUSED')).not.toContain('again')
})
