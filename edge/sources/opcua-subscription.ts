/**
 * One subscription with its monitored items. Items are created by our own calls, so that every item's status is seen; the
 * library keeps the subscription going over short breaks.
 */
import type {
  ClientSession,
  ClientSessionRawSubscriptionService,
  ClientSubscription,
  DataValue,
  NotificationMessage,
  StatusCode,
} from 'node-opcua-client'
import { reasonOf } from '../errors.ts'
import { MessageOrder } from './message-order.ts'
import type { OpcUa } from './opcua-library.ts'
import type { SourceLog } from './ports.ts'

/** One node that is watched, for one or more tags. */
export interface WatchedNode {
  readonly nodeId: string
  /** As the server answered; undefined until it did. */
  status: string | undefined
  isWatched: boolean
  /** The next value is the one that the server holds, as old as it may be; later ones are changes. */
  nextIsHeld: boolean
}

export interface SubscriptionListener {
  /**
   * Any message of the subscription, a keep-alive too: the peer lives. Values of known nodes come with it, and at times
   * the server's own clock. (A message's publish time would tell it too, but some servers leave it empty.)
   */
  message(serverTMs: number | undefined, values: { node: WatchedNode; value: DataValue }[]): void
  /** The server answered for this node: watched, or why not. */
  answered(node: WatchedNode): void
  /** The server has given the subscription up. */
  gone(reason: string): void
}

export interface SubscriptionOptions {
  samplingMs: number
  publishingMs: number
  keepAliveS: number
}

/** A pause to be ridden out without a loss, ms. */
const BRIDGE_MS = 30_000
/** How long a subscription lives without us, ms: twice the pause. */
const LIFETIME_MS = 60_000
const DEEPEST_QUEUE = 5000
/** Many servers take no more in one call, whatever they say. */
const MOST_PER_CALL = 1000
/** The library gives its own items small numbers. */
const FIRST_HANDLE = 10_000
/** OPC 10000-6, Server_ServerStatus_CurrentTime: always changes, so it proves life, and it tells the server's clock. */
const CURRENT_TIME = 'ns=0;i=2258'

export class OpcUaSubscription {
  readonly #library: OpcUa
  readonly #session: ClientSession
  readonly #options: SubscriptionOptions
  readonly #listener: SubscriptionListener
  readonly #log: SourceLog
  readonly #byHandle = new Map<number, WatchedNode>()
  #subscription: ClientSubscription | undefined
  #perCall = MOST_PER_CALL
  #nextHandle = FIRST_HANDLE
  readonly #order = new MessageOrder()
  #isOver = false

  constructor(parts: {
    library: OpcUa
    session: ClientSession
    options: SubscriptionOptions
    listener: SubscriptionListener
    log: SourceLog
  }) {
    this.#library = parts.library
    this.#session = parts.session
    this.#options = parts.options
    this.#listener = parts.listener
    this.#log = parts.log
  }

  /** Changes when the library had to make a new one, without any of our nodes. */
  get id(): string {
    return `${this.#session.sessionId.toString()} ${this.#subscription?.subscriptionId}`
  }

  async create(nodes: readonly WatchedNode[]): Promise<void> {
    const { publishingMs, keepAliveS } = this.#options
    const everyMs = Math.max(publishingMs, 10)
    // Twice as often as needed, so that one late message is no alarm.
    const keepAliveCount = Math.max(1, Math.floor((keepAliveS * 500) / everyMs))
    const subscription = this.#library.ClientSubscription.create(this.#session, {
      requestedPublishingInterval: everyMs,
      requestedMaxKeepAliveCount: keepAliveCount,
      requestedLifetimeCount: Math.max(Math.ceil(LIFETIME_MS / everyMs), 10 * keepAliveCount),
      maxNotificationsPerPublish: 0,
      publishingEnabled: true,
      priority: 1,
    })
    this.#subscription = subscription
    subscription.on('raw_notification', (message: NotificationMessage) => this.#onMessage(message))
    subscription.on('internal_error', (error: Error) => this.#log.debug(`OPC UA subscription: ${error.message}`))
    await new Promise<void>((resolve, reject) => {
      subscription.once('started', () => resolve())
      subscription.on('error', (error: Error) => reject(error))
    })
    await subscription.monitor(
      { nodeId: CURRENT_TIME, attributeId: this.#library.AttributeIds.Value },
      { samplingInterval: keepAliveS * 500, queueSize: 1, discardOldest: true },
      this.#library.TimestampsToReturn.Both,
    )
    this.#perCall = await this.#itemsPerCall()
    await this.watch(nodes)
  }

  /** Asks the server to watch these nodes; each is answered for. */
  async watch(nodes: readonly WatchedNode[]): Promise<void> {
    const sound = nodes.filter((node) => this.#isNodeId(node))
    for (let from = 0; from < sound.length && !this.#isOver; from += this.#perCall) {
      await this.#watchChunk(sound.slice(from, from + this.#perCall))
    }
  }

  async terminate(): Promise<void> {
    this.#isOver = true
    try {
      await this.#subscription?.terminate()
    } catch (thrown) {
      this.#log.debug(`The subscription could not be ended properly: ${reasonOf(thrown)}.`)
    }
  }

  #isNodeId(node: WatchedNode): boolean {
    try {
      this.#library.coerceNodeId(node.nodeId)
      return true
    } catch {
      // The library throws on any text that is no node id; the tag says so.
      node.status = 'BadNodeIdInvalid'
      this.#listener.answered(node)
      return false
    }
  }

  async #watchChunk(nodes: readonly WatchedNode[]): Promise<void> {
    const { samplingMs } = this.#options
    const queueSize = queueFor(samplingMs, this.#options.publishingMs)
    const handles = nodes.map((node) => this.#handleFor(node))
    const response = await raw(this.#session).createMonitoredItems({
      subscriptionId: this.#numericId(),
      timestampsToReturn: this.#library.TimestampsToReturn.Both,
      itemsToCreate: nodes.map((node, index) => ({
        itemToMonitor: {
          nodeId: this.#library.coerceNodeId(node.nodeId),
          attributeId: this.#library.AttributeIds.Value,
        },
        monitoringMode: this.#library.MonitoringMode.Reporting,
        requestedParameters: {
          clientHandle: handles[index] as number,
          samplingInterval: samplingMs,
          queueSize,
          discardOldest: true,
        },
      })),
    })
    const deepen: { monitoredItemId: number; handle: number; samplingMs: number; queueSize: number }[] = []
    let shallowest: { node: string; seconds: number } | undefined
    for (const [index, node] of nodes.entries()) {
      const result = response.results?.[index]
      const handle = handles[index] as number
      node.status = result === undefined ? 'BadNoAnswer' : result.statusCode.name
      node.isWatched = result !== undefined && severity(result.statusCode) !== 'bad'
      if (!node.isWatched) this.#byHandle.delete(handle)
      if (result !== undefined && node.isWatched) {
        const wanted = queueFor(result.revisedSamplingInterval, this.#options.publishingMs)
        if (wanted > queueSize && result.revisedQueueSize >= queueSize) {
          deepen.push({
            monitoredItemId: result.monitoredItemId,
            handle,
            samplingMs: result.revisedSamplingInterval,
            queueSize: wanted,
          })
        } else if (result.revisedQueueSize < Math.min(wanted, queueSize)) {
          const seconds = (result.revisedQueueSize * result.revisedSamplingInterval) / 1000
          if (shallowest === undefined || seconds < shallowest.seconds) shallowest = { node: node.nodeId, seconds }
        }
      }
      this.#listener.answered(node)
    }
    if (shallowest !== undefined) {
      this.#log.warn(
        `The server keeps only ${shallowest.seconds.toFixed(1)} s of ${shallowest.node}: a longer break of the connection loses values.`,
      )
    }
    if (deepen.length > 0) await this.#deepen(deepen)
  }

  async #deepen(
    items: { monitoredItemId: number; handle: number; samplingMs: number; queueSize: number }[],
  ): Promise<void> {
    await raw(this.#session).modifyMonitoredItems({
      subscriptionId: this.#numericId(),
      timestampsToReturn: this.#library.TimestampsToReturn.Both,
      itemsToModify: items.map((item) => ({
        monitoredItemId: item.monitoredItemId,
        requestedParameters: {
          clientHandle: item.handle,
          samplingInterval: item.samplingMs,
          queueSize: item.queueSize,
          discardOldest: true,
        },
      })),
    })
  }

  #numericId(): number {
    return Number(this.#subscription?.subscriptionId)
  }

  #handleFor(node: WatchedNode): number {
    const handle = this.#nextHandle
    this.#nextHandle += 1
    this.#byHandle.set(handle, node)
    node.nextIsHeld = true
    return handle
  }

  async #itemsPerCall(): Promise<number> {
    const limits = await this.#library.readOperationLimits(this.#session)
    const limit = limits.maxMonitoredItemsPerCall ?? 0
    return limit > 0 ? Math.min(limit, MOST_PER_CALL) : MOST_PER_CALL
  }

  /**
   * Asks again for messages that were left out. After a break the library asks for them too, but stops where a live message
   * comes in between.
   */
  async #fetch(sequences: readonly number[]): Promise<void> {
    const subscriptionId = this.#numericId()
    for (const sequence of sequences) {
      if (this.#order.has(sequence) || this.#isOver) continue
      try {
        const response = await raw(this.#session).republish({ subscriptionId, retransmitSequenceNumber: sequence })
        this.#onMessage(response.notificationMessage)
      } catch (thrown) {
        // One that the library fetched meanwhile was acknowledged, and so the server has it no more.
        if (!this.#order.has(sequence)) {
          this.#log.warn(`Message ${sequence} of the OPC UA server was lost in a break: ${reasonOf(thrown)}.`)
        }
      }
    }
  }

  #onMessage(message: NotificationMessage): void {
    if (this.#isOver) return
    // A keep-alive names the number of the next message, which is still to come (OPC 10000-4 §5.14.5).
    const isKeepAlive = (message.notificationData?.length ?? 0) === 0
    if (!isKeepAlive) {
      const { isNew, missing } = this.#order.note(message.sequenceNumber)
      if (missing.length > 0) void this.#fetch(missing)
      if (!isNew) return
    }
    const values: { node: WatchedNode; value: DataValue }[] = []
    let serverTMs: number | undefined
    for (const part of message.notificationData ?? []) {
      const data = part as unknown as {
        monitoredItems?: { clientHandle: number; value: DataValue }[] | null
        status?: StatusCode
      } | null
      for (const item of data?.monitoredItems ?? []) {
        const node = this.#byHandle.get(item.clientHandle)
        if (node !== undefined) values.push({ node, value: item.value })
        else if (item.clientHandle < FIRST_HANDLE) serverTMs = clockIn(item.value)
      }
      if (data?.status !== undefined && severity(data.status) === 'bad') this.#listener.gone(data.status.name)
    }
    this.#listener.message(serverTMs, values)
  }
}

/** The library's session has these calls, though its type leaves them out. */
const raw = (session: ClientSession): RawSession => session as unknown as RawSession
type RawSession = ClientSessionRawSubscriptionService & {
  republish(request: { subscriptionId: number; retransmitSequenceNumber: number }): Promise<{
    notificationMessage: NotificationMessage
  }>
}

/** The server's clock as it stands in its CurrentTime. */
function clockIn(value: DataValue): number | undefined {
  const time: unknown = value.value?.value
  return time instanceof Date ? time.getTime() : undefined
}

/** How many values a server has to keep of one variable. A server that samples by events is asked for one per publishing period. */
function queueFor(samplingMs: number, publishingMs: number): number {
  const everyMs = samplingMs > 0 ? samplingMs : Math.max(publishingMs, 10)
  return Math.min(DEEPEST_QUEUE, Math.ceil(BRIDGE_MS / everyMs) + 10)
}

/** OPC 10000-4 §7.38: the top two bits of a status. `isGood()` of the library denies Good with Overflow, which comes after every outage. */
export function severity(status: { value: number }): 'good' | 'uncertain' | 'bad' {
  const bits = status.value >>> 30
  return bits === 0 ? 'good' : bits === 1 ? 'uncertain' : 'bad'
}
