/** Sentences name the place where a person corrects it: a key of the config, or an option of `browse`, which has no config. */
import { expect, test } from 'vitest'
import { brokerTrouble } from '../../edge/sources/mqtt-trouble.ts'

const url = 'mqtts://10.1.2.4:8883'
const failed = (code: string | number): Error => Object.assign(new Error(String(code)), { code })
const said = (name: string | undefined, code: string | number): string =>
  brokerTrouble({ name, url }, failed(code)).message

test.each([
  // MQTT 5.0 3.2.2.2: 0x86 is "Bad User Name or Password".
  [0x86, 'correct them under sources.hall.user', 'correct them with --user and --password-file'],
  ['SELF_SIGNED_CERT_IN_CHAIN', 'under sources.hall.ca_file', 'with --ca-file'],
  ['ERR_TLS_CERT_ALTNAME_INVALID', 'use that name in sources.hall.url', 'use that name in the address'],
])('%s', (code, inConfig, inBrowse) => {
  expect(said('hall', code)).toContain(`hall (${url})`)
  expect(said('hall', code)).toContain(inConfig)
  expect(said(undefined, code)).toContain(inBrowse)
  expect(said(undefined, code)).not.toMatch(/sources\.|undefined|again/)
})
