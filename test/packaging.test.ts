/**
 * The ways in which Lastwrap is delivered, checked without building an image: that every step of the Dockerfile names what
 * exists, and that container and service run with as few rights as they state.
 */
import { execFile, execFileSync } from 'node:child_process'
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { createServer } from 'node:http'
import type { AddressInfo } from 'node:net'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { promisify } from 'node:util'
import { describe, expect, it } from 'vitest'

const ROOT = resolve(import.meta.dirname, '..')
const read = (path: string): string => readFileSync(join(ROOT, path), 'utf8')
const manifest = JSON.parse(read('package.json')) as {
  license: string
  engines: { node: string }
  bin: Record<string, string>
  scripts: Record<string, string>
}

describe('the Dockerfile', () => {
  const steps = stepsOf(read('Dockerfile'))
  const stages = steps.filter(({ word }) => word === 'FROM')
  const finalStage = steps.slice(steps.findLastIndex(({ word }) => word === 'FROM'))
  const of = (word: string, among = steps) => among.filter((step) => step.word === word).map(({ rest }) => rest)

  it('starts every stage from the Node that package.json asks for', () => {
    const major = /(\d+)/.exec(manifest.engines.node)?.[1]
    expect(stages.length).toBeGreaterThan(1)
    for (const { rest } of stages) expect(rest).toMatch(new RegExp(`^node:${major}-`))
  })

  it('runs only scripts that exist, and installs from the lock file without running install scripts', () => {
    const npm = of('RUN')
      .flatMap((rest) => rest.split('&&').map((part) => part.trim()))
      .filter((part) => part.startsWith('npm'))
    expect(npm.length).toBeGreaterThan(1)
    for (const command of npm) {
      const script = /^npm run (\S+)/.exec(command)?.[1]
      if (script === undefined) expect(command).toMatch(/^npm ci --ignore-scripts/)
      else expect(manifest.scripts, command).toHaveProperty(script)
    }
    expect(npm).toContain('npm ci --ignore-scripts --omit=dev --omit=optional')
  })

  it('copies what exists and what .dockerignore lets through', () => {
    const letThrough = read('.dockerignore')
      .split('\n')
      .filter((line) => line.startsWith('!'))
      .map((line) => line.slice(1))
    const copied = of('COPY').filter((rest) => !rest.startsWith('--from'))
    const sources = copied.flatMap((rest) => rest.split(/\s+/).slice(0, -1))
    expect(sources).toContain('edge')
    for (const source of sources) {
      expect(existsSync(join(ROOT, source)), source).toBe(true)
      expect(letThrough).toContain(source)
    }
  })

  it('takes the dashboard from where the build puts it', () => {
    expect(read('dashboard/vite.config.ts')).toContain("outDir: 'dist'")
    expect(of('COPY', finalStage)).toContain('--from=build /app/dashboard/dist dashboard/dist')
  })

  it('runs as a user that is not root, set before it starts', () => {
    const user = finalStage.findIndex(({ word }) => word === 'USER')
    expect(finalStage[user]?.rest).toMatch(/^(?!root$|0$)\w+/)
    expect(user).toBeLessThan(finalStage.findIndex(({ word }) => word === 'ENTRYPOINT'))
    expect(finalStage.slice(user).some(({ word }) => word === 'RUN' || word === 'COPY')).toBe(false)
  })

  it('writes only below its volume', () => {
    const [volume] = of('VOLUME', finalStage)
    const command = JSON.parse(of('CMD', finalStage)[0] ?? '') as string[]
    expect(command).toEqual(['start', '--data', volume])
  })

  it('starts the same file as the command lastwrap', () => {
    const [, file] = JSON.parse(of('ENTRYPOINT', finalStage)[0] ?? '') as string[]
    expect(`./${file}`).toBe(manifest.bin['lastwrap'])
    expect(existsSync(join(ROOT, file ?? '')), file).toBe(true)
  })

  // HEALTHCHECK: exit 0 healthy, 1 unhealthy (Dockerfile reference).
  it('has a health check that tells alive from not', async () => {
    const [check] = of('HEALTHCHECK', finalStage)
    const [program, ...args] = JSON.parse(/CMD (\[.*\])$/.exec(check ?? '')?.[1] ?? '') as string[]
    expect(program).toBe('node')
    expect(of('ENV', finalStage).join()).toContain(`:${of('EXPOSE', finalStage)[0]}/api/alive`)
    let status = 200
    const server = createServer((_request, response) => response.writeHead(status).end())
    await new Promise<void>((listening) => server.listen(0, '127.0.0.1', listening))
    const url = `http://127.0.0.1:${(server.address() as AddressInfo).port}/api/health`
    const exit = () =>
      promisify(execFile)(process.execPath, args, { env: { LASTWRAP_HEALTH_URL: url } }).then(
        () => 0,
        (failure: { code: number }) => failure.code,
      )
    expect(await exit()).toBe(0)
    status = 503
    expect(await exit()).toBe(1)
    await new Promise((closed) => server.close(closed))
    expect(await exit()).toBe(1)
  })
})

describe('the service', () => {
  const unit = read('config/lastwrap.service')
  const settings = new Map(
    unit.split('\n').flatMap((line) => {
      const [, key, value] = /^(\w+)=(.*)$/.exec(line) ?? []
      return key === undefined ? [] : [[key, value ?? ''] as const]
    }),
  )

  it('has its own user, no privileges and no capabilities', () => {
    expect(settings.get('User')).toMatch(/^(?!root$)\w+$/)
    expect(settings.get('NoNewPrivileges')).toBe('yes')
    expect(settings.get('CapabilityBoundingSet')).toBe('')
    expect(settings.get('ProtectSystem')).toBe('strict')
  })

  it('lets the JavaScript engine compile', () => {
    expect(settings.has('MemoryDenyWriteExecute')).toBe(false)
  })

  it('starts the file that exists with its data in its state directory', () => {
    const command = (settings.get('ExecStart') ?? '').split(' ')
    expect(`./${command[1]}`).toBe(manifest.bin['lastwrap'])
    expect(command.slice(2)).toEqual([
      'start',
      '--config',
      '/etc/lastwrap/lastwrap.yaml',
      '--data',
      `/var/lib/${settings.get('StateDirectory')}`,
    ])
  })

  describe.runIf(hasProgram('systemd-analyze'))('as systemd sees it', () => {
    it('has no unknown or malformed setting', () => {
      const folder = mkdtempSync(join(tmpdir(), 'lastwrap-unit-'))
      try {
        // systemd looks whether the program is there; here it stands in for the one in /opt.
        const file = join(folder, 'lastwrap.service')
        const here = unit
          .replace(/^ExecStart=\S+/m, `ExecStart=${process.execPath}`)
          .replace('file:/opt/lastwrap', `file:${ROOT}`)
        writeFileSync(file, here)
        expect(
          output(['verify', '--man=no', file])
            .split('\n')
            .filter((line) => line.includes('lastwrap')),
        ).toEqual([])
      } finally {
        rmSync(folder, { recursive: true })
      }
    })

    // Bands × 10 of systemd's own source: 50 medium, 10 OK. With a network 1.3 to 2.0 is reachable (common practice, no source).
    it('is exposed no more than a networked service must be', () => {
      const report = output(['security', '--offline=true', '--no-pager', join(ROOT, 'config/lastwrap.service')])
      expect(Number(/exposure level[^:]*: ([\d.]+)/.exec(report)?.[1])).toBeLessThanOrEqual(2)
    })
  })
})

describe('the licence', () => {
  it('is the one that package.json names, whole', () => {
    expect(manifest.license).toBe('Apache-2.0')
    const text = read('LICENSE')
    for (const part of [
      'Version 2.0, January 2004',
      '9. Accepting Warranty or Additional Liability',
      'END OF TERMS AND CONDITIONS',
    ]) {
      expect(text).toContain(part)
    }
  })
})

/** Instructions with continued lines joined, without comments. */
function stepsOf(dockerfile: string): { word: string; rest: string }[] {
  return dockerfile
    .replace(/^\s*#.*\n/gm, '')
    .replace(/\\\n\s*/g, '')
    .split('\n')
    .flatMap((line) => {
      const [, word, rest] = /^([A-Z]+)\s+(.*)$/.exec(line) ?? []
      return word === undefined ? [] : [{ word, rest: rest ?? '' }]
    })
}

function hasProgram(name: string): boolean {
  return (process.env['PATH'] ?? '').split(':').some((folder) => existsSync(join(folder, name)))
}

/** What systemd-analyze says, on either channel and whatever its status. */
function output(args: string[]): string {
  try {
    return execFileSync('sh', ['-c', 'exec systemd-analyze "$@" 2>&1', 'sh', ...args], { encoding: 'utf8' })
  } catch (failure) {
    return String((failure as { stdout?: unknown }).stdout ?? failure)
  }
}
