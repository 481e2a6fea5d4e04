/**
 * Where the real brokers and databases for the tests stand. `fetch-servers.ts` puts them into `.cache/servers/`; a suite
 * asks for one by name and leaves itself out where it isn't there:
 *
 *     const mosquitto = serverBinary('mosquitto')
 *     describe.runIf(mosquitto)('a broker that dies', () => { … spawn(mosquitto!.path, args, { env: mosquitto!.env }) … })
 *
 * Two of them want to know: mosquitto started as root changes to another user, so its config needs `user root`; influxd
 * writes into its home unless the config names every folder.
 */
import { existsSync, readFileSync } from 'node:fs'
import { join, resolve } from 'node:path'

/** Debian package → path of the program in it. */
export const SERVERS = {
  mosquitto: 'usr/sbin/mosquitto',
  influxdb: 'usr/bin/influxd',
  'victoria-metrics': 'usr/bin/victoria-metrics',
} as const
export type ServerName = keyof typeof SERVERS
export const SERVER_NAMES = Object.keys(SERVERS) as ServerName[]

export const SERVERS_FOLDER = resolve(import.meta.dirname, '../../.cache/servers')
/** Written beside an unpacked server once all its libraries were found. */
export const READY_FILE = 'ready.json'
export const readyFile = (name: ServerName): string => join(SERVERS_FOLDER, name, READY_FILE)
/** Why a server isn't there, one sentence. */
export const reasonFile = (name: ServerName): string => join(SERVERS_FOLDER, `${name}.left-out.txt`)

export interface ServerBinary {
  path: string
  /** This process's environment, with the server's own libraries in front. */
  env: NodeJS.ProcessEnv
}

export function serverBinary(name: ServerName): ServerBinary | undefined {
  const ready = readyFile(name)
  if (!existsSync(ready)) return undefined
  const { libraryFolders } = JSON.parse(readFileSync(ready, 'utf8')) as { libraryFolders: string[] }
  const root = join(SERVERS_FOLDER, name)
  return { path: join(root, SERVERS[name]), env: libraryEnv(libraryFolders.map((folder) => join(root, folder))) }
}

/** Why `serverBinary` gives nothing; undefined where it gives something. */
export function whyLeftOut(name: ServerName): string | undefined {
  if (existsSync(readyFile(name))) return undefined
  return existsSync(reasonFile(name)) ? readFileSync(reasonFile(name), 'utf8') : 'it was not fetched in this run'
}

export function libraryEnv(folders: readonly string[]): NodeJS.ProcessEnv {
  const inherited = process.env['LD_LIBRARY_PATH']
  const path = [...folders, ...(inherited ? [inherited] : [])].join(':')
  return path === '' ? { ...process.env } : { ...process.env, LD_LIBRARY_PATH: path }
}
