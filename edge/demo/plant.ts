/**
 * The demo plant "Alder Quay Works" as a process of its own: two lines behind an OPC UA server, a third behind an MQTT
 * broker. Run as
 *
 *   node edge/demo/plant.ts --opcua-port 0 --mqtt-port 0 --data DIR [--seed n] [--skip s] [--speedup x]
 *
 * Prints one line of JSON when it is ready, then one per splice (what really happened there). Ends on SIGTERM, SIGINT, or
 * when the process that started it is gone.
 */
import { join } from 'node:path'
import { parseArgs } from 'node:util'
import { systemClock } from '../clock.ts'
import { LastwrapError, reasonOf } from '../errors.ts'
import { Broker } from './broker.ts'
import { CARTON_TAGS } from './carton-tags.ts'
import { Gateway } from './gateway.ts'
import { Line } from './line.ts'
import { Plc } from './plc.ts'
import { PRESS_TAGS } from './press-tags.ts'
import { Random } from './random.ts'
import { RECIPES } from './recipes.ts'
import { keptPassword } from './secret.ts'

/** What the first line of output says. */
export interface PlantReady {
  ready: true
  opcua: string
  mqtt: string
  user: string
  opcuaPasswordFile: string
  mqttPasswordFile: string
  /** The OPC UA server's own certificate, PEM. */
  certificateFile: string
}

const HOST = '127.0.0.1'
const USER = 'monitor'
/** Physics, and how often tags are set. */
const STEP_S = 0.01
const PUBLISH_MS = 50
/** After a longer pause (a machine that slept) the plant goes on from where it was. */
const LONGEST_CATCH_UP_S = 5
const WATCH_PARENT_MS = 500

const numberOf = (name: string, text: string, low: number, high: number): number => {
  const value = Number(text)
  if (text.trim() !== '' && value >= low && value <= high) return value
  throw new LastwrapError('wrong_input', `--${name} takes a number from ${low} to ${high}, not "${text}".`)
}

const OPTIONS = {
  'opcua-port': { type: 'string', default: '0' },
  'mqtt-port': { type: 'string', default: '0' },
  data: { type: 'string' },
  seed: { type: 'string', default: '1' },
  skip: { type: 'string', default: '0' },
  speedup: { type: 'string', default: '1' },
} as const

const readOptions = () => {
  try {
    return parseArgs({ options: OPTIONS }).values
  } catch (error) {
    throw new LastwrapError('wrong_input', reasonOf(error), { cause: error })
  }
}

const readArguments = () => {
  const values = readOptions()
  if (values.data === undefined) {
    throw new LastwrapError('wrong_input', '--data DIR is missing: the folder for certificates and passwords.')
  }
  return {
    opcuaPort: numberOf('opcua-port', values['opcua-port'], 0, 65_535),
    mqttPort: numberOf('mqtt-port', values['mqtt-port'], 0, 65_535),
    dataDir: values.data,
    seed: Math.floor(numberOf('seed', values.seed, 0, 1e9)),
    skipS: numberOf('skip', values.skip, 0, 36_000),
    speedup: numberOf('speedup', values.speedup, 0.1, 60),
  }
}

const print = (message: object): void => {
  process.stdout.write(`${JSON.stringify(message)}\n`)
}

const run = async (): Promise<void> => {
  const options = readArguments()
  const seeds = new Random(options.seed)
  const lines = RECIPES.map((recipe) => new Line(recipe, Math.floor(seeds.between(0, 2 ** 31))))
  const lineOf = (id: string): Line => {
    const found = lines.find((line) => line.recipe.id === id)
    if (!found) throw new Error(`The demo plant has no line "${id}".`)
    return found
  }
  const advance = (steps: number): void => {
    for (let step = 0; step < steps; step++) for (const line of lines) line.step(STEP_S)
  }
  advance(Math.round(options.skipS / STEP_S))

  const opcuaPasswordFile = join(options.dataDir, 'opcua-password')
  const mqttPasswordFile = join(options.dataDir, 'mqtt-password')
  const plc = new Plc(
    {
      host: HOST,
      port: options.opcuaPort,
      certificateDir: join(options.dataDir, 'certificates'),
      user: USER,
      password: keptPassword(opcuaPasswordFile),
    },
    options.seed + 1,
  )
  const gatewayUser = { name: 'coater-gateway', password: keptPassword(join(options.dataDir, 'gateway-password')) }
  const broker = new Broker([
    { name: USER, password: keptPassword(mqttPasswordFile), mayPublish: false },
    { ...gatewayUser, mayPublish: true },
  ])
  const gateway = new Gateway(lineOf('film_coater'), options.seed + 2)

  await plc.start([
    { name: 'LabelPress', line: lineOf('label_press'), tags: PRESS_TAGS },
    { name: 'CartonLine', line: lineOf('carton_line'), tags: CARTON_TAGS },
  ])
  const mqtt = `mqtt://${HOST}:${await broker.start(HOST, options.mqttPort)}`
  await gateway.start({ url: mqtt, user: gatewayUser.name, password: gatewayUser.password })

  let steps = 0
  let startedMs = systemClock.nowMs()
  const timeMs = (): number => startedMs + steps * STEP_S * 1000
  const stopRunning = systemClock.every(PUBLISH_MS, () => {
    const nowMs = systemClock.nowMs()
    const dueMs = startedMs + (nowMs - startedMs) * options.speedup
    const due = Math.floor((dueMs - timeMs()) / (STEP_S * 1000))
    if (due > LONGEST_CATCH_UP_S / STEP_S || due < 0) {
      startedMs = nowMs
      steps = 0
      return
    }
    advance(due)
    steps += due
    const time = new Date(timeMs())
    plc.publish(time)
    gateway.publish(time)
    for (const line of lines) for (const splice of line.takeTruths()) print({ splice })
  })

  const parent = process.ppid
  let isStopping = false
  const stop = async (): Promise<void> => {
    if (isStopping) return
    isStopping = true
    stopRunning()
    stopWatching()
    await Promise.allSettled([gateway.stop(), plc.stop()])
    await broker.stop()
    process.exit(0)
  }
  const stopWatching = systemClock.every(WATCH_PARENT_MS, () => {
    if (process.ppid !== parent) void stop()
  })
  process.on('SIGTERM', () => void stop())
  process.on('SIGINT', () => void stop())
  // The reader of the splice lines may be gone before the plant notices.
  process.stdout.on('error', () => void stop())

  plc.publish(new Date(timeMs()))
  const ready: PlantReady = {
    ready: true,
    opcua: plc.endpoint,
    mqtt,
    user: USER,
    opcuaPasswordFile,
    mqttPasswordFile,
    certificateFile: plc.certificateFile,
  }
  print(ready)
}

// Standard output belongs to the JSON lines; what the library has to say goes to standard error.
console.log = console.error
console.warn = console.error
console.info = console.error

run().catch((error: unknown) => {
  process.stderr.write(`The demo plant did not start: ${reasonOf(error)}\n`)
  process.exit(error instanceof LastwrapError ? error.exitStatus : 1)
})
