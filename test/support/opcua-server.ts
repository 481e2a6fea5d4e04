/**
 * An OPC UA server in a process of its own, to be killed, frozen and ordered about. `startOpcUaServer` is for tests; run as a
 * program this file is the server.
 */
import { type ChildProcess, fork } from 'node:child_process'
import { once } from 'node:events'
import { mkdir } from 'node:fs/promises'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'

export interface OpcUaServerOptions {
  /** Keeps the server's certificate, so that a restarted server is the same one. */
  folder: string
  port?: number
  /** Name and password of the only user; anonymous sign-in is refused then. */
  user?: { name: string; password: string }
  /** Offers mode none beside the encrypted endpoints. */
  allowNone?: boolean
  /** What is added to the source timestamps, ms. */
  clockOffsetMs?: number
}

/** `name` is what stands behind `ns=1;s=`. */
export type Order =
  | { order: 'set'; name: string; value: unknown; status?: string; sourceTMs?: number }
  | { order: 'count'; name: string; everyMs: number }
  | { order: 'stop_counting' }
  | { order: 'add'; name: string }
  | { order: 'sessions' }

export interface OpcUaServerProcess {
  endpoint: string
  port: number
  process: ChildProcess
  tell(order: Order): Promise<unknown>
  kill(signal: NodeJS.Signals): void
  stop(): Promise<void>
}

export async function startOpcUaServer(options: OpcUaServerOptions): Promise<OpcUaServerProcess> {
  await mkdir(options.folder, { recursive: true })
  const child = fork(fileURLToPath(import.meta.url), [JSON.stringify(options)], {
    stdio: ['ignore', 'ignore', 'inherit', 'ipc'],
    // NaN and the like survive the way.
    serialization: 'advanced',
    env: { ...process.env, NODEOPCUA_LOG_LEVEL: '0' },
  })
  const answers = new Map<number, (answer: unknown) => void>()
  let asked = 0
  const started = Promise.withResolvers<number>()
  child.on('message', (message: { port?: number; id?: number; answer?: unknown }) => {
    if (message.port !== undefined) started.resolve(message.port)
    if (message.id !== undefined) answers.get(message.id)?.(message.answer)
  })
  child.once('exit', (code) => started.reject(new Error(`The test's OPC UA server ended with ${code}.`)))
  const port = await started.promise
  return {
    endpoint: `opc.tcp://127.0.0.1:${port}`,
    port,
    process: child,
    tell(order) {
      asked += 1
      const id = asked
      return new Promise((resolve) => {
        answers.set(id, resolve)
        child.send({ id, ...order })
      })
    },
    kill(signal) {
      child.kill(signal)
    },
    async stop() {
      if (child.exitCode !== null || child.signalCode !== null) return
      child.kill('SIGCONT')
      child.kill('SIGKILL')
      await once(child, 'exit')
    },
  }
}

/** Variables that every server has: `ns=1;s=<name>`, their type and first value. */
const VARIABLES: [name: string, dataType: string, value: unknown, arrayType?: string][] = [
  ['Press.LineSpeed', 'Double', 300],
  ['Unwind.Diameter', 'Float', 812.5],
  ['Unwind.Status', 'UInt16', 32],
  ['Unwind.Ready', 'Boolean', true],
  ['Unwind.RollId', 'String', 'R-0012'],
  ['Unwind.Material', 'LocalizedText', { text: 'coated board', locale: 'en' }],
  ['Press.Length', 'Int64', [0, 123456]],
  ['Press.Negative', 'Int64', [0xffffffff, 0xfffffffe]],
  ['Drives.Speeds', 'Double', [1, 2, 3], 'Array'],
  ['Press.Counter', 'Int32', 0],
]

async function serve(options: OpcUaServerOptions): Promise<void> {
  const opcua = await import('node-opcua')
  const certificates = new opcua.OPCUACertificateManager({
    rootFolder: join(options.folder, 'pki'),
    automaticallyAcceptUnknownCertificate: true,
    disableFileWatchers: true,
  })
  const modes = [opcua.MessageSecurityMode.SignAndEncrypt]
  const policies = [opcua.SecurityPolicy.Basic256Sha256]
  if (options.allowNone) {
    modes.push(opcua.MessageSecurityMode.None)
    policies.push(opcua.SecurityPolicy.None)
  }
  const server = new opcua.OPCUAServer({
    port: options.port ?? 0,
    host: '127.0.0.1',
    serverCertificateManager: certificates,
    userCertificateManager: certificates,
    serverInfo: { applicationUri: 'urn:alder-quay-works:test-plc' },
    buildInfo: { productName: 'Test PLC' },
    securityModes: modes,
    securityPolicies: policies,
    allowAnonymous: options.user === undefined,
    userManager: {
      isValidUser: (name: string, password: string) =>
        name === options.user?.name && password === options.user.password,
    },
    registerServerMethod: opcua.RegisterServerMethod.HIDDEN,
  })
  await server.initialize()
  const space = server.engine.addressSpace
  if (space === null) throw new Error('The server has no address space.')
  const namespace = space.getOwnNamespace()
  const plant = namespace.addFolder(space.rootFolder.objects, { browseName: 'AlderQuay' })
  const stamp = (): Date => new Date(Date.now() + (options.clockOffsetMs ?? 0))
  const types = new Map<string, { dataType: string; arrayType: string }>()
  const variables = new Map<string, ReturnType<typeof namespace.addVariable>>()
  const set = (name: string, value: unknown, status = 'Good', sourceTMs?: number): void => {
    const type = types.get(name)
    if (type === undefined) throw new Error(`The test server has no ${name}.`)
    variables.get(name)?.setValueFromSource(
      {
        dataType: opcua.DataType[type.dataType as keyof typeof opcua.DataType],
        arrayType: opcua.VariantArrayType[type.arrayType as keyof typeof opcua.VariantArrayType],
        value,
      },
      opcua.StatusCodes[status as keyof typeof opcua.StatusCodes] as InstanceType<typeof opcua.ConstantStatusCode>,
      sourceTMs === undefined ? stamp() : new Date(sourceTMs),
    )
  }
  const add = (name: string, dataType: string, value: unknown, arrayType = 'Scalar'): void => {
    types.set(name, { dataType, arrayType })
    variables.set(
      name,
      namespace.addVariable({
        componentOf: plant,
        browseName: name,
        nodeId: `s=${name}`,
        dataType,
        valueRank: arrayType === 'Array' ? 1 : -1,
        minimumSamplingInterval: 0,
      }),
    )
    set(name, value)
  }
  for (const variable of VARIABLES) add(...variable)
  namespace.addAnalogDataItem({
    componentOf: plant,
    browseName: 'Festoon.Position',
    nodeId: 's=Festoon.Position',
    dataType: 'Double',
    engineeringUnitsRange: { low: 0, high: 100 },
    engineeringUnits: opcua.standardUnits.percent,
    value: { dataType: 'Double', value: 25 },
  })
  await server.start()
  const counters: NodeJS.Timeout[] = []
  process.on('message', (message: Order & { id: number }) => {
    let answer: unknown = true
    if (message.order === 'set') set(message.name, message.value, message.status, message.sourceTMs)
    if (message.order === 'add') add(message.name, 'Double', 1)
    if (message.order === 'sessions') answer = server.engine.currentSessionCount
    if (message.order === 'stop_counting') for (const each of counters) clearInterval(each)
    if (message.order === 'count') {
      let count = 0
      counters.push(
        setInterval(() => {
          count += 1
          set(message.name, count)
        }, message.everyMs),
      )
    }
    process.send?.({ id: message.id, answer })
  })
  process.on('disconnect', () => process.exit(0))
  const port = Number(/:(\d+)/.exec(server.getEndpointUrl())?.[1])
  process.send?.({ port })
}

if (process.argv[1] === fileURLToPath(import.meta.url) && process.argv[2] !== undefined) {
  await serve(JSON.parse(process.argv[2]) as OpcUaServerOptions)
}
