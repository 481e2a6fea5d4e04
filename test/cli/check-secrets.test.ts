/** A password that is not where the config says is told before anything connects. */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import { check } from '../../edge/cli/check.ts'

const VARIABLE = 'LASTWRAP_TEST_CHECK_SECRET'
let folder = ''
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'lastwrap-secrets-'))
})
afterEach(() => {
  delete process.env[VARIABLE]
  process.exitCode = undefined
  rmSync(folder, { recursive: true, force: true })
})

async function offline(): Promise<string> {
  const config = join(folder, 'press.yaml')
  writeFileSync(
    config,
    `
version: 1
site: { name: Alder Quay Works, time_zone: UTC }
sources:
  plc: { kind: opcua, endpoint: opc.tcp://127.0.0.1:4840, user: { name: monitor, password_env: ${VARIABLE} } }
  broker: { kind: mqtt, url: mqtt://127.0.0.1:1883, user: { name: monitor, password_file: broker.txt } }
unwinds:
  press:
    roll: { core_diameter: 100 mm, nominal_caliper: 80 um }
    splicer: { method: flying, splice_diameter: 130 mm }
    signals:
      line_speed: { source: plc, address: 'ns=2;s=Speed', unit: m/min }
      roll_diameter: { source: broker, address: press/diameter, unit: mm }
`,
  )
  const log = vi.spyOn(console, 'log').mockImplementation(() => undefined)
  try {
    await check({ config, data: folder, offline: true, timeout: 1 })
    return log.mock.calls.map(([line]) => String(line)).join('\n')
  } finally {
    log.mockRestore()
  }
}

describe('check --offline', () => {
  it('names every secret that is not there, and ends with 1', async () => {
    const said = await offline()
    expect(said).toContain(`Missing: sources.plc.user: The environment variable ${VARIABLE}`)
    expect(said).toMatch(/Missing: sources\.broker\.user: The file .*broker\.txt, which should hold a password/)
    expect(process.exitCode).toBe(1)
  })

  it('is content where they are, and shows none', async () => {
    process.env[VARIABLE] = 'four words nobody knows'
    writeFileSync(join(folder, 'broker.txt'), 'five words nobody knows\n')
    const said = await offline()
    expect(said).not.toContain('Missing')
    expect(said).not.toContain('nobody knows')
    expect(process.exitCode).toBeUndefined()
  })
})
