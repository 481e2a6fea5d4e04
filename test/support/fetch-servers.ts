/**
 * Brings the real servers for the tests (vitest's global set-up of the project `servers`; also runs alone:
 * `node test/support/fetch-servers.ts`). Nothing on the machine is changed: packages are downloaded by apt, unpacked into
 * `.cache/servers/` and run from there; where apt's own lists are empty or old, lists of our own are fetched beside them.
 *
 * Never fails: a server that can't be had is left out with the reason in a file, which `left-out-reporter.ts` prints.
 */
import { execFile } from 'node:child_process'
import { existsSync } from 'node:fs'
import { mkdir, readdir, readFile, rename, rm, stat, writeFile } from 'node:fs/promises'
import { join } from 'node:path'
import { setTimeout as delay } from 'node:timers/promises'
import { promisify } from 'node:util'
import { reasonOf } from '../../edge/errors.ts'
import {
  libraryEnv,
  READY_FILE,
  readyFile,
  reasonFile,
  SERVER_NAMES,
  SERVERS,
  SERVERS_FOLDER,
  type ServerName,
} from './server-binaries.ts'

const run = promisify(execFile)
const APT_FOLDER = join(SERVERS_FOLDER, 'apt')
/** How deep the dependencies of a package are followed for libraries that this machine lacks. */
const DEPENDENCY_DEPTH = 6
const APT_TIMEOUT_MS = 180_000

export default async function fetchServers(): Promise<void> {
  if (SERVER_NAMES.every((name) => existsSync(readyFile(name)))) return
  await mkdir(SERVERS_FOLDER, { recursive: true })
  await withLock(join(SERVERS_FOLDER, 'lock'), async () => {
    for (const name of SERVER_NAMES) {
      if (existsSync(readyFile(name))) continue
      try {
        await fetchServer(name)
        await rm(reasonFile(name), { force: true })
      } catch (thrown) {
        await writeFile(reasonFile(name), firstFault(reasonOf(thrown)))
        for (const rest of ['.partial', '.partial.debs']) {
          await rm(join(SERVERS_FOLDER, name + rest), { recursive: true, force: true })
        }
      }
    }
  })
}

/** Downloads one server with the libraries that this machine lacks, and moves it into place in one step. */
async function fetchServer(name: ServerName): Promise<void> {
  const target = join(SERVERS_FOLDER, name)
  const root = `${target}.partial`
  await rm(root, { recursive: true, force: true })
  await mkdir(root, { recursive: true })
  await downloadAndUnpack([name], root)
  const fetched = new Set<string>([name])
  let lately: string[] = [name]
  for (let depth = 0; ; depth += 1) {
    const folders = await libraryFoldersIn(root)
    const missing = await missingLibraries(join(root, SERVERS[name]), root, folders)
    if (missing.length === 0) {
      await writeFile(join(root, READY_FILE), JSON.stringify({ libraryFolders: folders }))
      await rm(target, { recursive: true, force: true })
      await rename(root, target)
      return
    }
    lately = (await libraryDependencies(lately)).filter((dependency) => !fetched.has(dependency))
    if (depth === DEPENDENCY_DEPTH || lately.length === 0) {
      throw new Error(`${name} needs ${missing.join(', ')}, and no package that it depends on brings it`)
    }
    await downloadAndUnpack(lately, root)
    for (const dependency of lately) fetched.add(dependency)
  }
}

async function downloadAndUnpack(packages: readonly string[], root: string): Promise<void> {
  const debs = `${root}.debs`
  await rm(debs, { recursive: true, force: true })
  await mkdir(debs, { recursive: true })
  await apt('apt-get', ['download', ...packages], debs)
  for (const file of await readdir(debs)) await run('dpkg', ['-x', join(debs, file), root])
  await rm(debs, { recursive: true, force: true })
}

/** Names of the library packages that these depend on; the C library is always the machine's own. */
async function libraryDependencies(packages: readonly string[]): Promise<string[]> {
  const { stdout } = await apt('apt-cache', ['depends', '--important', ...packages], SERVERS_FOLDER)
  const names = [...stdout.matchAll(/^\s+\|?(?:Pre)?Depends:\s+(lib[^\s<>:]+)/gm)].map((match) => match[1]!)
  return [...new Set(names)].filter((name) => name !== 'libc6' && name !== 'libgcc-s1')
}

async function missingLibraries(binary: string, root: string, folders: readonly string[]): Promise<string[]> {
  const env = libraryEnv(folders.map((folder) => join(root, folder)))
  const { stdout } = await run('ldd', [binary], { env })
  return [...stdout.matchAll(/^\s*(\S+) => not found/gm)].map((match) => match[1]!)
}

/** Folders below `root`, relative to it, that hold shared libraries. */
async function libraryFoldersIn(root: string): Promise<string[]> {
  const entries = await readdir(root, { recursive: true, withFileTypes: true })
  const folders = entries
    .filter((entry) => !entry.isDirectory() && /\.so(\.|$)/.test(entry.name))
    .map((entry) => entry.parentPath.slice(root.length + 1))
  return [...new Set(folders)].sort()
}

let usesOwnLists = false
/** Lists of our own can't be had either: no further server is worth another wait. */
let ownListsFault: unknown

/** Runs apt with caches of our own; when the machine's lists don't serve, once more with lists of our own. */
async function apt(program: string, args: readonly string[], cwd: string): Promise<{ stdout: string }> {
  const cache = join(APT_FOLDER, 'cache')
  await mkdir(join(cache, 'archives/partial'), { recursive: true })
  const quiet = ['-o', `Dir::Cache=${cache}`, '-o', 'APT::Sandbox::User=root', '-o', 'Acquire::Retries=2']
  const limits = ['-o', 'Acquire::http::Timeout=30', '-o', 'Acquire::https::Timeout=30']
  const options = { cwd, timeout: APT_TIMEOUT_MS, maxBuffer: 64 * 1024 * 1024, env: { ...process.env, LC_ALL: 'C' } }
  const attempt = () => run(program, [...quiet, ...limits, ...(usesOwnLists ? ownLists() : []), ...args], options)
  try {
    return await attempt()
  } catch (thrown) {
    if (usesOwnLists || (thrown as NodeJS.ErrnoException).code === 'ENOENT') throw thrown
    if (ownListsFault !== undefined) throw ownListsFault
    try {
      await mkdir(join(APT_FOLDER, 'state/lists/partial'), { recursive: true })
      await run('apt-get', [...quiet, ...limits, ...ownLists(), 'update', '-qq', '--error-on=any'], options)
    } catch (fault) {
      ownListsFault = fault
      throw fault
    }
    usesOwnLists = true
    return attempt()
  }
}

function ownLists(): string[] {
  const state = join(APT_FOLDER, 'state')
  const lists = join(state, 'lists')
  return [
    '-o',
    `Dir::State=${state}`,
    '-o',
    `Dir::State::lists=${lists}`,
    '-o',
    'Dir::State::status=/var/lib/dpkg/status',
  ]
}

/** The line that names the fault: apt's own "E: …" where there is one. */
function firstFault(text: string): string {
  if (/ENOENT/.test(text) && /apt|dpkg/.test(text)) return 'this machine has no apt to fetch it with'
  const lines = text.split('\n').filter((line) => line.trim() !== '')
  return (lines.find((line) => line.startsWith('E: ')) ?? lines[0] ?? text).trim()
}

/** One fetch at a time per checkout, over processes; a lock whose process is gone is taken over. */
async function withLock(folder: string, work: () => Promise<void>): Promise<void> {
  const owner = join(folder, 'pid')
  for (;;) {
    try {
      await mkdir(folder)
      break
    } catch (thrown) {
      if ((thrown as NodeJS.ErrnoException).code !== 'EEXIST') throw thrown
    }
    if (await isAbandoned(folder, owner)) await rm(folder, { recursive: true, force: true })
    else await delay(200)
  }
  try {
    await writeFile(owner, String(process.pid))
    await work()
  } finally {
    await rm(folder, { recursive: true, force: true })
  }
}

async function isAbandoned(folder: string, owner: string): Promise<boolean> {
  const pid = Number(await readFile(owner, 'utf8').catch(() => ''))
  if (Number.isInteger(pid) && pid > 0) {
    try {
      process.kill(pid, 0)
      return false
    } catch (thrown) {
      return (thrown as NodeJS.ErrnoException).code === 'ESRCH'
    }
  }
  // Its process is between making the folder and writing its number, or died just there.
  const made = await stat(folder).catch(() => undefined)
  return made !== undefined && performance.timeOrigin + performance.now() - made.mtimeMs > 10_000
}

if (import.meta.main) {
  await fetchServers()
  for (const name of SERVER_NAMES) {
    const isThere = existsSync(readyFile(name))
    console.log(isThere ? `${name}: ready` : `${name}: left out, ${await readFile(reasonFile(name), 'utf8')}`)
  }
}
