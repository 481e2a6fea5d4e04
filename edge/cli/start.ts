/** The verb `start`: the monitor, on a configured plant or on the built-in demo. */
import { unwatchFile, watchFile } from 'node:fs'
import packageJson from '../../package.json' with { type: 'json' }
import { systemClock } from '../clock.ts'
import type { Config } from '../config/config.ts'
import { loadConfigFile } from '../config/load.ts'
import { type Daemon, startDaemon } from '../daemon.ts'
import { LastwrapError, reasonOf } from '../errors.ts'
import { createLog, type Log } from '../log.ts'
import { makeDataDir } from './data-dir.ts'

export interface StartOptions {
  config?: string
  data?: string
  port?: number
}

/** Apart from each other: the demo's splices, accounts and trusted certificates must not become those of a real plant. */
const DATA_DIR = './data'
const DEMO_DATA_DIR = './demo-data'
/** A config is looked at this often for a change, ms. */
const LOOK_EVERY_MS = 2000

export async function start(options: StartOptions): Promise<void> {
  const log = createLog()
  const isDemo = options.config === undefined || options.config === ''
  const dataDir = options.data ?? (isDemo ? DEMO_DATA_DIR : DATA_DIR)
  const demo = isDemo ? await startDemo(dataDir, log) : undefined
  const configFile = demo?.configFile ?? options.config!
  let daemon: Daemon | undefined
  // Listened for before anybody can know that it runs: a signal in between would end it without closing its sessions.
  const stopped = untilStopped()
  process.on('SIGHUP', () => {
    if (daemon !== undefined) void reload(daemon, configFile, options, log)
  })
  try {
    const config = read(configFile, options, log)
    makeDataDir(dataDir)
    daemon = await startDaemon({
      config,
      dataDir,
      clock: systemClock,
      log,
      version: packageJson.version,
      isDemo,
    })
  } catch (thrown) {
    await demo?.stop()
    throw thrown
  }
  if (demo !== undefined)
    console.log('Invented plant: nothing here is a real machine. Watch your own with --config FILE.')
  console.log(`Dashboard: ${daemon.url}`)
  if (daemon.setUpUrl !== undefined) {
    console.log(`Nobody can act yet. Make your account with this link, once, within 24 hours: ${daemon.setUpUrl}`)
  }
  const running = daemon
  watchFile(configFile, { interval: LOOK_EVERY_MS }, () => void reload(running, configFile, options, log))
  await stopped
  unwatchFile(configFile)
  await running.stop()
  await demo?.stop()
}

async function startDemo(dataDir: string, log: Log): Promise<{ configFile: string; stop(): Promise<void> }> {
  makeDataDir(dataDir)
  console.log('Starting the demo plant: a process of its own that speaks OPC UA and MQTT.')
  const { prepareDemo } = await import('../demo/prepare.ts')
  return prepareDemo({ dataDir, onLog: (line) => log.debug({}, `demo plant: ${line}`) })
}

function read(file: string, options: StartOptions, log: Log): Config {
  const { config, warnings } = loadConfigFile(file)
  for (const warning of warnings) log.warn({}, warning)
  return options.port === undefined ? config : { ...config, web: { ...config.web, port: options.port } }
}

/** A config with faults changes nothing: the monitor runs on with the last good one and says what is wrong. */
async function reload(daemon: Daemon, file: string, options: StartOptions, log: Log): Promise<void> {
  try {
    await daemon.apply(read(file, options, log))
  } catch (thrown) {
    const faults = thrown instanceof LastwrapError && thrown.faults.length > 0 ? thrown.faults : [reasonOf(thrown)]
    log.error({}, `the changed config was not applied, the last good one runs on: ${faults.join(' ')}`)
  }
}

function untilStopped(): Promise<void> {
  return new Promise((resolve) => {
    for (const signal of ['SIGTERM', 'SIGINT'] as const) process.once(signal, () => resolve())
  })
}
