/** The plant's PLC as the network sees it: an OPC UA server, signed and encrypted, that only the user `monitor` may read. */
import { join } from 'node:path'
import {
  AccessLevelFlag,
  DataType,
  MessageSecurityMode,
  makeEUInformation,
  type Namespace,
  nodesets,
  OPCUACertificateManager,
  OPCUAServer,
  SecurityPolicy,
  StatusCodes,
  type UAObject,
  type UAVariable,
} from 'node-opcua'
import type { Line } from './line.ts'
import { Random } from './random.ts'
import { type PlantTag, UNITS } from './tags.ts'

export interface PlcOptions {
  host: string
  /** 0 takes a free one. */
  port: number
  /** Certificates are kept here. */
  certificateDir: string
  user: string
  password: string
}

export interface PlcArea {
  name: string
  line: Line
  tags: readonly PlantTag[]
}

interface ServedTag {
  tag: PlantTag
  line: Line
  variable: UAVariable
  last: number | boolean | string | undefined
  nextS: number
}

const NAMESPACE = 'urn:alder-quay-works:plant'
const APPLICATION = 'urn:alder-quay-works:demo-plant'
const WIDE_RANGE = [0, 1e9] as const

export class Plc {
  private readonly server: OPCUAServer
  private readonly served: ServedTag[] = []
  private readonly random: Random
  private readonly certificates: OPCUACertificateManager

  constructor(options: PlcOptions, seed: number) {
    this.random = new Random(seed)
    // The demo lets any client application in (it still needs the password); the monitor, which is the product, does not.
    this.certificates = new OPCUACertificateManager({
      rootFolder: join(options.certificateDir, 'plc'),
      automaticallyAcceptUnknownCertificate: true,
    })
    this.server = new OPCUAServer({
      host: options.host,
      port: options.port,
      hostname: options.host,
      serverCertificateManager: this.certificates,
      userCertificateManager: this.certificates,
      nodeset_filename: [nodesets.standard],
      serverInfo: { applicationUri: APPLICATION, applicationName: { text: 'Alder Quay Works demo PLC' } },
      buildInfo: { productName: 'Demo PLC', manufacturerName: 'Alder Quay Works' },
      securityPolicies: [SecurityPolicy.Basic256Sha256, SecurityPolicy.Aes256_Sha256_RsaPss],
      securityModes: [MessageSecurityMode.SignAndEncrypt],
      allowAnonymous: false,
      userManager: {
        isValidUser: (name: string, password: string) => name === options.user && password === options.password,
      },
    })
  }

  get endpoint(): string {
    return this.server.getEndpointUrl()
  }

  get certificateFile(): string {
    return this.server.certificateFile
  }

  async start(areas: readonly PlcArea[]): Promise<void> {
    await this.certificates.initialize()
    await this.server.initialize()
    const { addressSpace } = this.server.engine
    if (!addressSpace) throw new Error('The OPC UA server came up without an address space.')
    const namespace = addressSpace.registerNamespace(NAMESPACE)
    for (const { name, line, tags } of areas) {
      const folder = namespace.addObject({ organizedBy: addressSpace.rootFolder.objects, browseName: name })
      for (const tag of tags) {
        const variable = this.add(namespace, folder, tag)
        this.served.push({ tag, line, variable, last: undefined, nextS: 0 })
      }
    }
    await this.server.start()
  }

  /** Sets what changed. A constant keeps the time at which it was set, as on a real PLC. */
  publish(time: Date): void {
    for (const served of this.served) {
      const { tag, line, variable } = served
      if (tag.everyS !== undefined && line.tS < served.nextS) continue
      served.nextS = line.tS + (tag.everyS ?? 0)
      const value = tag.read(line, this.random)
      if (value === served.last) continue
      served.last = value
      variable.setValueFromSource({ dataType: DataType[tag.type], value }, StatusCodes.Good, time)
    }
  }

  async stop(): Promise<void> {
    await this.server.shutdown(200)
    await this.certificates.dispose()
  }

  private add(namespace: Namespace, folder: UAObject, tag: PlantTag): UAVariable {
    const common = {
      componentOf: folder,
      browseName: tag.path,
      nodeId: `s=${tag.path}`,
      description: tag.description,
      dataType: DataType[tag.type],
      accessLevel: AccessLevelFlag.CurrentRead,
      userAccessLevel: AccessLevelFlag.CurrentRead,
      minimumSamplingInterval: 50,
    }
    if (tag.unit === undefined) return namespace.addVariable(common)
    const [low, high] = tag.range ?? WIDE_RANGE
    return namespace.addAnalogDataItem({
      ...common,
      engineeringUnitsRange: { low, high },
      engineeringUnits: makeEUInformation(UNITS[tag.unit], tag.unit, tag.unit),
    })
  }
}
