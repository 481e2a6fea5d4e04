/** The demo plant as a process that can be killed, frozen, and started again on the same ports with the same certificate. */
import { type ChildProcess, spawn } from 'node:child_process'
import { once } from 'node:events'
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { createInterface } from 'node:readline'
import type { PlantReady } from '../../edge/demo/plant.ts'
import { filledIn } from '../../edge/demo/prepare.ts'
import { freePort } from './free-port.ts'

const PLANT = join(import.meta.dirname, '../../edge/demo/plant.ts')
const TEMPLATE = join(import.meta.dirname, '../../config/demo.yaml')

export interface PlantProcess {
  readonly ready: PlantReady
  readonly folder: string
  /** `skipS` into its day. */
  start(skipS: number): Promise<void>
  signal(signal: NodeJS.Signals): void
  kill(): Promise<void>
}

export async function plantProcess(folder: string, skipS: number): Promise<PlantProcess> {
  mkdirSync(folder, { recursive: true })
  const ports = ['--opcua-port', String(await freePort()), '--mqtt-port', String(await freePort())]
  let child: ChildProcess
  let ready: PlantReady
  const start = async (skip: number): Promise<void> => {
    const started = spawn(process.execPath, [PLANT, '--data', folder, ...ports, '--skip', String(skip)], {
      stdio: ['ignore', 'pipe', 'ignore'],
    })
    child = started
    const first = Promise.withResolvers<PlantReady>()
    started.once('exit', (status) => first.reject(new Error(`the plant ended with ${status}`)))
    createInterface({ input: started.stdout }).once('line', (line) => first.resolve(JSON.parse(line) as PlantReady))
    // Nobody reads on, and a full pipe would stop it.
    started.stdout.resume()
    ready = await first.promise
  }
  await start(skipS)
  return {
    get ready() {
      return ready
    },
    folder,
    start,
    signal: (signal) => child.kill(signal),
    async kill() {
      if (child.exitCode !== null || child.signalCode !== null) return
      const gone = once(child, 'exit')
      child.kill('SIGKILL')
      await gone
    },
  }
}

/** The demo's config with the PLC of one plant and the broker of another: either can die alone. */
export const configFor = (plc: PlantProcess, hall: PlantProcess): string => {
  const { mqtt, mqttPasswordFile } = hall.ready
  return filledIn(readFileSync(TEMPLATE, 'utf8'), { ...plc.ready, mqtt, mqttPasswordFile })
}

/** A data folder whose daemon trusts the plant's PLC, as a person would have decided. */
export function dataFolder(folder: string, plc: PlantProcess): string {
  const trusted = join(folder, 'certificates/opcua/trusted/certs')
  mkdirSync(trusted, { recursive: true })
  writeFileSync(join(trusted, 'plant.pem'), readFileSync(plc.ready.certificateFile))
  return folder
}
