/**
 * The daemon's side of the demo: starts the plant as a process of its own, writes a config that names its ports and
 * password files, and makes the OPC UA client trust the plant's certificate, as a person would for a real one.
 */
import { type ChildProcess, spawn } from 'node:child_process'
import { mkdirSync, readFileSync, renameSync, writeFileSync } from 'node:fs'
import { join, resolve } from 'node:path'
import { createInterface } from 'node:readline'
import { fileURLToPath } from 'node:url'
import { parseDocument } from 'yaml'
import { LastwrapError, reasonOf } from '../errors.ts'
import type { SpliceTruth } from './line.ts'
import type { PlantReady } from './plant.ts'

export interface DemoOptions {
  /** The daemon's data directory; the plant keeps its own things in `demo/` below it. */
  dataDir: string
  /** Another day at the plant; default 1. */
  seed?: number
  /** Begin so many seconds into the day, s; default 0. */
  skipS?: number
  /** Default: free ones. */
  opcuaPort?: number
  mqttPort?: number
  /** How long the plant may take to come up, s; default 20 (it takes one to three). */
  readyWithinS?: number
  /** What really happened at a splice, as the plant knows it. */
  onSplice?: (splice: SpliceTruth) => void
  /** What the plant writes to its standard error, line by line. */
  onLog?: (line: string) => void
}

export interface Demo {
  /** The config to run, ports and files filled in. */
  configFile: string
  plant: PlantReady
  child: ChildProcess
  /** Ends the plant; resolves when it is gone. */
  stop(): Promise<void>
}

const PLANT = fileURLToPath(new URL('./plant.ts', import.meta.url))
const TEMPLATE = fileURLToPath(new URL('../../config/demo.yaml', import.meta.url))
/** Where the OPC UA client looks for servers that it trusts. */
const TRUSTED = 'certificates/opcua/trusted/certs'
const KEPT_LOG_LINES = 20
const STOP_WITHIN_MS = 5000
/** It takes two seconds, on a small machine that is busy with something else a minute. */
const READY_WITHIN_S = 120

export const prepareDemo = async (options: DemoOptions): Promise<Demo> => {
  const dataDir = resolve(options.dataDir)
  const plantDir = join(dataDir, 'demo')
  try {
    mkdirSync(plantDir, { recursive: true, mode: 0o700 })
  } catch (error) {
    throw new LastwrapError(
      'wrong_input',
      `The data directory ${dataDir} cannot be used (${reasonOf(error)}): name another with --data DIR.`,
      { cause: error },
    )
  }
  const child = spawn(
    process.execPath,
    [
      PLANT,
      ...['--data', plantDir],
      ...['--opcua-port', String(options.opcuaPort ?? 0)],
      ...['--mqtt-port', String(options.mqttPort ?? 0)],
      ...['--seed', String(options.seed ?? 1)],
      ...['--skip', String(options.skipS ?? 0)],
    ],
    { stdio: ['ignore', 'pipe', 'pipe'] },
  )
  try {
    const plant = await readyPlant(child, options)
    trust(plant.certificateFile, join(dataDir, TRUSTED))
    const configFile = join(plantDir, 'demo.yaml')
    replaceFile(configFile, filledIn(readFileSync(TEMPLATE, 'utf8'), plant))
    return { configFile, plant, child, stop: () => end(child) }
  } catch (error) {
    await end(child)
    throw error
  }
}

/** The template with the plant's addresses and password files; everything else, comments too, stays as it is. */
export const filledIn = (template: string, plant: PlantReady): string => {
  const document = parseDocument(template)
  document.setIn(['sources', 'plant_plc', 'endpoint'], plant.opcua)
  document.setIn(['sources', 'plant_plc', 'user', 'name'], plant.user)
  document.setIn(['sources', 'plant_plc', 'user', 'password_file'], plant.opcuaPasswordFile)
  document.setIn(['sources', 'hall_broker', 'url'], plant.mqtt)
  document.setIn(['sources', 'hall_broker', 'user', 'name'], plant.user)
  document.setIn(['sources', 'hall_broker', 'user', 'password_file'], plant.mqttPasswordFile)
  return document.toString({ lineWidth: 0 })
}

/** Waits for the plant's first line of output and goes on reading the others. */
const readyPlant = (child: ChildProcess, options: DemoOptions): Promise<PlantReady> => {
  const log: string[] = []
  const failed = (what: string, cause?: unknown): LastwrapError =>
    new LastwrapError(
      'source_unreachable',
      `The demo plant ${what}${log.length > 0 ? `; its last words: ${log.join(' | ')}` : ''}. Start again, or name a config of your own with --config FILE.`,
      { cause },
    )
  const readyWithinS = options.readyWithinS ?? READY_WITHIN_S
  return new Promise((resolveReady, reject) => {
    const timer = setTimeout(
      () => reject(failed(`was not ready within ${readyWithinS} s: this machine is slow or busy`)),
      readyWithinS * 1000,
    )
    const settle = (act: () => void): void => {
      clearTimeout(timer)
      act()
    }
    child.once('error', (error) => settle(() => reject(failed(`could not be started (${reasonOf(error)})`, error))))
    // `close`, not `exit`: by then its last words have been read.
    child.once('close', (code, signal) =>
      settle(() => reject(failed(`ended before it was ready (${signal ?? `status ${code}`})`))),
    )
    if (!child.stdout || !child.stderr) return
    createInterface({ input: child.stderr }).on('line', (line) => {
      log.push(line)
      if (log.length > KEPT_LOG_LINES) log.shift()
      options.onLog?.(line)
    })
    createInterface({ input: child.stdout }).on('line', (line) => {
      const message = parsed(line)
      if (message && 'ready' in message) settle(() => resolveReady(message))
      else if (message) options.onSplice?.(message.splice)
      else settle(() => reject(failed(`said something that is no JSON: "${line.slice(0, 80)}"`)))
    })
  })
}

const parsed = (line: string): PlantReady | { splice: SpliceTruth } | undefined => {
  try {
    return JSON.parse(line)
  } catch (error) {
    if (error instanceof SyntaxError) return undefined
    throw error
  }
}

/** Puts the plant's certificate where the client looks; an earlier one of the demo's gives way. */
const trust = (certificateFile: string, trustedDir: string): void => {
  mkdirSync(trustedDir, { recursive: true, mode: 0o700 })
  replaceFile(join(trustedDir, 'demo-plant.pem'), readFileSync(certificateFile, 'utf8'))
}

/** Whole or not at all: nobody reads half a file. */
const replaceFile = (file: string, text: string): void => {
  writeFileSync(`${file}.new`, text, { mode: 0o600 })
  renameSync(`${file}.new`, file)
}

const end = (child: ChildProcess): Promise<void> => {
  const isGone = child.pid === undefined || child.exitCode !== null || child.signalCode !== null
  if (isGone) return Promise.resolve()
  return new Promise((resolveGone) => {
    const timer = setTimeout(() => child.kill('SIGKILL'), STOP_WITHIN_MS)
    child.once('exit', () => {
      clearTimeout(timer)
      resolveGone()
    })
    child.kill('SIGTERM')
  })
}
