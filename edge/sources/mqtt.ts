/**
 * A broker over MQTT. Each topic may serve several tags; the broker keeps our session over breaks, so that what is published
 * with QoS 1 meanwhile comes late with its own time.
 */
import type { IPublishPacket, MqttClient } from 'mqtt'
import type { MqttSourceConfig, TagRef } from '../config/config.ts'
import { type PathStep, parsePath } from './json-path.ts'
import { clientIdOf, connectMqtt, type MqttConnection, type MqttVersion } from './mqtt-connect.ts'
import { Payload } from './mqtt-payload.ts'
import { idTaken, SESSION_TAKEN_OVER } from './mqtt-trouble.ts'
import { PeerSource } from './peer-source.ts'
import type { SourcePorts } from './ports.ts'
import { Rival } from './rival.ts'
import type { Source } from './source.ts'
import type { TagBook, TagEntry } from './tag-book.ts'
import { TRIED_AGAIN } from './tried-again.ts'

/** A broker that died sends again what was not acknowledged: so many of a tag's newest values are remembered to know them. */
const REMEMBERED_VALUES = 256
/** After a return, what the broker kept comes first; then the newest word of every tag holds again, ms. */
const SETTLE_MS = 500
const STOP_MS = 3000

interface TopicTag {
  entry: TagEntry
  valuePath: readonly PathStep[] | undefined
  timePath: readonly PathStep[] | undefined
  /** `time value` of what came lately, oldest first. */
  seen: Set<string>
}

/** @param keepSession false for a look only: the broker then forgets this client when it leaves */
export const createMqttSource = (
  config: MqttSourceConfig,
  tags: readonly TagRef[],
  ports: SourcePorts,
  keepSession = true,
): Source => new MqttSource(config, tags, ports, keepSession)

class MqttSource extends PeerSource<MqttSourceConfig> {
  readonly #keepSession: boolean
  readonly #topics: Map<string, TopicTag[]>
  #isLost = false
  #hasConnected = false
  /** The publisher's will said that it is gone. */
  #isPublisherGone = false
  /** When it said so last. */
  #publisherGoneTMs = Number.NEGATIVE_INFINITY
  #version: MqttVersion = 5
  readonly #rival = new Rival()

  constructor(config: MqttSourceConfig, tags: readonly TagRef[], ports: SourcePorts, keepSession: boolean) {
    super(config, tags, ports, STOP_MS)
    this.#keepSession = keepSession
    this.#topics = topicsOf(this.tags)
  }

  protected async connect(): Promise<void> {
    const ended = Promise.withResolvers<string | typeof SESSION_TAKEN_OVER>()
    this.attempts.onStop(() => ended.resolve('it stops'))
    const version = this.#version
    // A broker that was exchanged may speak another version.
    this.#version = 5
    const connection = await connectMqtt(
      this.config,
      this.ports,
      (client) => this.#listen(client, ended.resolve),
      version,
      this.#keepSession,
    )
    try {
      if (this.attempts.isStopped) return
      await this.#onConnected(connection)
      this.#version = connection.version
      const { client } = connection
      // Twice per keep-alive, so that one late answer is no alarm.
      const stopPings = this.ports.clock.every(this.config.keepAliveS * 500, () => {
        if (client.connected) client.sendPing()
      })
      const sinceMs = this.ports.clock.nowMs()
      const reason = await ended.promise.finally(stopPings)
      if (this.attempts.isStopped) return
      const rival = this.#rival.closed(this.ports.clock.nowMs() - sinceMs, reason === SESSION_TAKEN_OVER)
      if (rival !== undefined) {
        throw idTaken(this.config, clientIdOf(this.config, this.ports.instanceId), rival === 'told')
      }
      this.onFailed('source_unreachable', String(reason))
    } finally {
      await this.#leave(connection.client)
    }
  }

  /** The session stays with the broker; only the connection ends. */
  #leave(client: MqttClient): Promise<void> {
    return new Promise((resolve) => {
      const timer = setTimeout(() => {
        client.end(true)
        resolve()
      }, 1000)
      client.end(!client.connected, {}, () => {
        clearTimeout(timer)
        resolve()
      })
    })
  }

  protected onFailed(code: string, trouble: string): void {
    if (code !== 'source_unreachable') this.status.set('refused', trouble)
    else if (!this.#hasConnected) this.status.set('connecting', trouble)
    else if (this.#isLost) this.status.set('lost', trouble)
    else this.ports.log.info(`Source ${this.name} connects anew: ${trouble}`)
  }

  #listen(client: MqttClient, end: (reason: string | typeof SESSION_TAKEN_OVER) => void): void {
    client.on('message', (topic, bytes, packet) => this.#onMessage(topic, bytes, packet))
    client.on('packetreceive', (packet) => {
      if (packet.cmd !== 'connack') this.#onProof()
    })
    client.on('disconnect', (packet) => {
      if (packet.reasonCode === SESSION_TAKEN_OVER) end(SESSION_TAKEN_OVER)
    })
    // One that was refused, as by a broker that does not speak this version, ends no connection: the next attempt is its successor.
    client.once('connect', () => {
      client.on('close', () => end(`the broker ${this.name} (${this.config.url}) closed the connection.`))
    })
  }

  async #onConnected({ client, sessionPresent }: MqttConnection): Promise<void> {
    // The will first: where it says that the publisher is gone, retained values that follow are known to be old.
    const topics = [
      ...new Set([...(this.config.will === undefined ? [] : [this.config.will.topic]), ...this.#topics.keys()]),
    ]
    // A kept session may have been made with another config, so its subscriptions are renewed in either case; but retained
    // messages, which come with a subscription, are only wanted where the session is new.
    const granted =
      topics.length === 0 ? [] : await client.subscribeAsync(topics, { qos: 1, ...(sessionPresent ? { rh: 1 } : {}) })
    for (const grant of granted) {
      if (grant.qos < 128) continue
      for (const { entry } of this.#topics.get(grant.topic) ?? []) {
        this.tags.say(
          entry,
          `The broker ${this.name} does not let this user read ${grant.topic}: allow it at the broker.`,
        )
      }
    }
    this.#onProof()
  }

  #onProof(): void {
    if (this.attempts.isStopped) return
    const nowMs = this.ports.clock.nowMs()
    this.watchdog.proof(nowMs)
    this.#hasConnected = true
    if (this.#isPublisherGone) return
    this.alive(nowMs)
    this.status.set('connected')
    if (!this.#isLost) return
    this.#isLost = false
    this.attempts.later(SETTLE_MS, () => {
      if (!this.#isLost && !this.#isPublisherGone) this.tags.redeliver(this.ports.clock.nowMs())
    })
  }

  protected onSilent(): void {
    const nowMs = this.ports.clock.nowMs()
    this.#isLost = true
    this.tags.loseAll(nowMs)
    // A refusal says more than silence does.
    if (this.status.state === 'refused') return
    this.status.set(
      'lost',
      `The broker ${this.name} (${this.config.url}) has given no sign of life for ${(1.5 * this.config.keepAliveS).toFixed(1)} s: check it and the network.${TRIED_AGAIN}`,
    )
  }

  #onMessage(topic: string, bytes: Buffer, packet: IPublishPacket): void {
    if (this.attempts.isStopped) return
    const nowMs = this.ports.clock.nowMs()
    if (topic === this.config.will?.topic)
      this.#onWill(bytes.toString('utf8').trim() === this.config.will.offline, nowMs)
    const tags = this.#topics.get(topic)
    if (tags === undefined) return
    if (this.#isPublisherGone) {
      // A retained value is from before; a live one shows that the publisher is back.
      if (packet.retain) return
      this.#onWill(false, nowMs)
    }
    const payload = new Payload(bytes, this.config.maxPayloadBytes)
    const values = tags.map((tag) => ({ tag, found: payload.valueAt(tag) }))
    for (const { found } of values) {
      if ('value' in found && found.stampMs !== undefined && !packet.retain) this.offset.observe(found.stampMs, nowMs)
    }
    for (const { tag, found } of values) {
      if ('trouble' in found) {
        this.tags.ignore(tag.entry, `${tag.entry.address} of ${this.name} ${found.trouble}.`)
        continue
      }
      const isTimed = found.stampMs !== undefined && this.config.time === 'source'
      if (isTimed && isRepeated(tag.seen, `${found.stampMs} ${found.value}`)) continue
      const ownTMs = isTimed ? this.offset.pipelineTMs(found.stampMs as number, nowMs) : nowMs
      // A publisher that is back at once may stamp its first word a little before its own loss.
      const tMs = tag.entry.isLost && ownTMs <= this.#publisherGoneTMs && !packet.retain ? nowMs : ownTMs
      this.tags.deliver(tag.entry, found.value, 'good', tMs, nowMs)
    }
  }

  #onWill(isGone: boolean, nowMs: number): void {
    if (isGone === this.#isPublisherGone) return
    this.#isPublisherGone = isGone
    if (!isGone) {
      this.#onProof()
      return
    }
    // The publisher will say anew what holds; what it said before is over.
    this.#publisherGoneTMs = nowMs
    this.tags.loseAll(nowMs)
    for (const entry of this.tags.entries) entry.last = undefined
    this.status.set(
      'lost',
      `The publisher behind ${this.name} is gone, says ${this.config.will?.topic}: check the device that publishes.`,
    )
  }
}

function isRepeated(seen: Set<string>, key: string): boolean {
  if (seen.has(key)) return true
  seen.add(key)
  if (seen.size > REMEMBERED_VALUES) seen.delete(seen.values().next().value as string)
  return false
}

function topicsOf(tags: TagBook): Map<string, TopicTag[]> {
  const topics = new Map<string, TopicTag[]>()
  for (const entry of tags.entries) {
    const { address, valuePath, timePath } = entry.tag
    if (address === '' || /[+#]/.test(address)) {
      tags.say(entry, `"${address}" is no topic that a tag can have: it is one topic in full, without + or #.`)
      continue
    }
    const steps = [valuePath, timePath].map((text) => (text === undefined ? undefined : parsePath(text)))
    const wrong = [valuePath, timePath].find((text, index) => text !== undefined && steps[index] === undefined)
    if (wrong !== undefined) {
      tags.say(
        entry,
        `"${wrong}" is no path into a payload: it is names with dots and [n] for arrays, as in drives[0].speed.`,
      )
      continue
    }
    const list = topics.get(address) ?? []
    list.push({ entry, valuePath: steps[0], timePath: steps[1], seen: new Set() })
    topics.set(address, list)
  }
  return topics
}
