/**
 * From a config to a connected MQTT client: version 5 first, 3.1.1 where the broker refuses it; TLS, user, fixed client id
 * with a session that the broker keeps.
 */
import { createHash } from 'node:crypto'
import { readFile } from 'node:fs/promises'
import type { IClientOptions, IConnackPacket, MqttClient } from 'mqtt'
import type { MqttSourceConfig } from '../config/config.ts'
import { fileReasonOf, LastwrapError } from '../errors.ts'
import { brokerTrouble, refusesVersion } from './mqtt-trouble.ts'
import type { SourcePorts } from './ports.ts'

export type MqttVersion = 4 | 5

export interface MqttConnection {
  client: MqttClient
  version: MqttVersion
  /** The broker still knew this client: its subscriptions stand, and what came meanwhile follows. */
  sessionPresent: boolean
}

export type MqttPeerConfig = Pick<
  MqttSourceConfig,
  'url' | 'user' | 'caFile' | 'clientId' | 'keepAliveS' | 'maxPayloadBytes'
> & {
  /** Undefined for a look, which has no config. */
  readonly name: string | undefined
}

/** How long a broker keeps the session of a client that is away, s: a day. Without it version 5 keeps nothing. */
const SESSION_EXPIRY_S = 86_400
export const CONNECT_TIMEOUT_MS = 5000
/** A broker is never allowed to send more in one packet than this, or than four of the largest payloads, bytes. */
const LARGEST_PACKET = 16 * 1024 * 1024

/**
 * @param hooks called before anything can arrive: messages of a kept session come with the CONNACK
 * @throws LastwrapError with what a person can do.
 */
export async function connectMqtt(
  config: MqttPeerConfig,
  ports: SourcePorts,
  hooks: (client: MqttClient) => void,
  version: MqttVersion = 5,
  keepSession = true,
): Promise<MqttConnection> {
  const { connect } = await import('mqtt')
  const options = await optionsOf(config, ports, version, keepSession)
  let client: MqttClient | undefined
  try {
    client = connect(config.url, options)
    hooks(client)
    const packet = await connected(client)
    return { client, version, sessionPresent: packet.sessionPresent }
  } catch (thrown) {
    client?.end(true)
    // Old brokers answer with a code, very old ones hang up.
    if (version === 5 && (refusesVersion(thrown) || thrown instanceof HungUp)) {
      ports.log.info(`The broker ${config.name ?? config.url} speaks no MQTT 5; 3.1.1 is used.`)
      return connectMqtt(config, ports, hooks, 4, keepSession)
    }
    throw brokerTrouble({ name: config.name, url: config.url }, thrown)
  }
}

/** Fixed, as the broker keeps messages for it; within the 23 characters that every broker takes (MQTT 3.1.1 §3.1.3.1). */
export function clientIdOf(config: Pick<MqttPeerConfig, 'name' | 'clientId'>, instanceId: string): string {
  if (config.clientId !== undefined) return config.clientId
  const hash = createHash('sha256').update(`${instanceId}/${config.name}`).digest('hex')
  return `lastwrap${hash.slice(0, 15)}`
}

async function optionsOf(
  config: MqttPeerConfig,
  ports: SourcePorts,
  version: MqttVersion,
  keepSession: boolean,
): Promise<IClientOptions> {
  return {
    protocolVersion: version,
    clientId: clientIdOf(config, ports.instanceId),
    clean: !keepSession,
    keepalive: Math.max(1, Math.round(config.keepAliveS)),
    connectTimeout: CONNECT_TIMEOUT_MS,
    // Reconnecting is ours: one back-off for all sources, and the version may change.
    reconnectPeriod: 0,
    resubscribe: false,
    queueQoSZero: false,
    rejectUnauthorized: true,
    ...(version === 5
      ? {
          properties: {
            sessionExpiryInterval: keepSession ? SESSION_EXPIRY_S : 0,
            maximumPacketSize: Math.max(LARGEST_PACKET, 4 * config.maxPayloadBytes),
          },
        }
      : {}),
    ...(config.user === undefined ? {} : { username: config.user.name }),
    ...(config.user?.password === undefined ? {} : { password: await ports.readSecret(config.user.password) }),
    ...(config.caFile === undefined ? {} : { ca: await readAuthority(config.name, config.caFile) }),
  }
}

async function readAuthority(name: string | undefined, file: string): Promise<Buffer> {
  try {
    return await readFile(file)
  } catch (thrown) {
    throw new LastwrapError(
      'wrong_input',
      `The file ${file} of ${name === undefined ? '--ca-file' : `sources.${name}.ca_file`} can't be read (${fileReasonOf(thrown)}): name the one with the certificate of the broker's authority.`,
      { cause: thrown },
    )
  }
}

class HungUp extends Error {}

/** Resolves with the CONNACK; rejects with what the broker or the network said. */
function connected(client: MqttClient): Promise<IConnackPacket> {
  return new Promise((resolve, reject) => {
    let failure: unknown
    client.once('connect', resolve)
    client.on('error', (error) => {
      failure = error
      reject(error)
    })
    client.once('close', () => reject(failure ?? new HungUp('the broker closed the connection at once')))
  })
}
