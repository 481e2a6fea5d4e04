/**
 * A PLC or gateway over OPC UA. Subscribes to its tags and only ever reads.
 *
 * Short breaks are the library's business: it revives session and subscription, and what the server queued meanwhile comes
 * late with its source time. A watchdog of our own says when the peer is lost, and where the library can't get
 * back, everything is torn down and built anew, for ever.
 */
import type { DataValue } from 'node-opcua-client'
import type { OpcUaSourceConfig, TagRef } from '../config/config.ts'
import { reasonOf } from '../errors.ts'
import { Backoff } from './backoff.ts'
import { type PathStep, parsePath } from './json-path.ts'
import { closeOpcUa, connectOpcUa, type OpcUaConnection } from './opcua-connect.ts'
import { OpcUaSubscription, severity, type WatchedNode } from './opcua-subscription.ts'
import { itemTrouble, valueTrouble } from './opcua-trouble.ts'
import { unitsOf } from './opcua-units.ts'
import { fromVariant } from './opcua-value.ts'
import { PeerSource } from './peer-source.ts'
import type { SourcePorts } from './ports.ts'
import type { Source } from './source.ts'
import type { TagBook, TagEntry } from './tag-book.ts'
import { TRIED_AGAIN } from './tried-again.ts'

/** What a server holds may be hours old; it holds now, and a recording allows 5 s of disorder, ms. */
const HELD_VALUE_AGE_MS = 5000
/** After so long without a word the library isn't trusted to get back: connected as it believes, or reconnecting, ms. */
const REBUILD_CONNECTED_MS = 30_000
const REBUILD_RECONNECTING_MS = 120_000
/** Nodes that the server refused are asked for again, alone. */
const RETRY_NODES = { firstMs: 2000, mostMs: 30_000, spread: 0.1 }
/** After a return: how long a server that doesn't show its clock gets to empty its queue, ms. */
const SETTLE_AT_MOST_MS = 3000
/** A clock value that differs from the usual by less is from now, not from the queue, ms. */
const PRESENT_MS = 1500
const STOP_MS = 5000

interface Node extends WatchedNode {
  readonly entries: { entry: TagEntry; path: readonly PathStep[] | undefined }[]
}

export const createOpcUaSource = (config: OpcUaSourceConfig, tags: readonly TagRef[], ports: SourcePorts): Source =>
  new OpcUaSource(config, tags, ports)

class OpcUaSource extends PeerSource<OpcUaSourceConfig> {
  readonly #nodes: Node[]
  #lostSinceMs: number | undefined
  #hasConnected = false
  #subscription: OpcUaSubscription | undefined
  /** The server's clock less ours as it was last, ms. */
  #serverAheadMs: number | undefined
  /** Runs from the return of the peer until every tag's newest word is given again. */
  #settling: NodeJS.Timeout | undefined
  /** The present clock was seen since the return. */
  #isEmptying = false

  constructor(config: OpcUaSourceConfig, tags: readonly TagRef[], ports: SourcePorts) {
    super(config, tags, ports, STOP_MS)
    this.#nodes = nodesOf(this.tags)
  }

  protected async connect(): Promise<void> {
    const connection = await connectOpcUa(this.config, this.ports)
    try {
      if (this.status.state === 'refused') this.status.set('connecting')
      const reason = await this.#serve(connection)
      if (!this.attempts.isStopped) this.ports.log.info(`Source ${this.name} connects anew: ${reason}.`)
    } finally {
      await closeOpcUa(connection)
    }
  }

  protected onFailed(code: string, trouble: string): void {
    if (code !== 'source_unreachable') this.status.set('refused', trouble)
    else this.status.set(this.#hasConnected && this.watchdog.isSilent ? 'lost' : 'connecting', trouble)
  }

  /** Lives with one connection; resolves with the reason when it has to be built anew. */
  async #serve(connection: OpcUaConnection): Promise<string> {
    const { client, session } = connection
    const over = Promise.withResolvers<string>()
    this.attempts.onStop(() => over.resolve('it stops'))
    if (this.attempts.isStopped) return over.promise
    session.on('session_closed', () => over.resolve('the server closed the session'))
    client.on('close', () => over.resolve('the connection was given up'))
    client.on('reconnection_attempt_has_failed', (error: Error) => {
      if (/Certificate|Security/.test(error.message)) over.resolve('the server refuses the old connection')
    })
    client.on('connection_reestablished', () => {
      if (this.#subscription?.id === subscriptionId) return
      this.#subscribe(connection, over.resolve).then(
        (id) => {
          subscriptionId = id
        },
        (thrown) => over.resolve(reasonOf(thrown)),
      )
    })
    const stopChecking = this.ports.clock.every(1000, () => {
      const silentMs = this.#lostSinceMs === undefined ? 0 : this.ports.clock.nowMs() - this.#lostSinceMs
      const mostMs = client.isReconnecting ? REBUILD_RECONNECTING_MS : REBUILD_CONNECTED_MS
      if (silentMs > mostMs) over.resolve('the server does not answer')
    })
    let subscriptionId = ''
    let retryTimer: NodeJS.Timeout | undefined
    try {
      subscriptionId = await this.#subscribe(connection, over.resolve)
      void this.#readUnits(connection)
      retryTimer = this.#retryNodes(new Backoff(RETRY_NODES), (timer) => {
        retryTimer = timer
      })
      return await over.promise
    } finally {
      stopChecking()
      clearTimeout(retryTimer)
      this.#subscription = undefined
    }
  }

  /** A new subscription in the present session; returns its id. */
  async #subscribe({ library, session }: OpcUaConnection, gone: (reason: string) => void): Promise<string> {
    await this.#subscription?.terminate()
    const subscription = new OpcUaSubscription({
      library,
      session,
      options: this.config,
      log: this.ports.log,
      listener: {
        message: (serverTMs, values) => this.#onMessage(serverTMs, values as { node: Node; value: DataValue }[]),
        answered: (node) => this.#onAnswered(node as Node),
        gone: (reason) => gone(`the server gave the subscription up (${reason})`),
      },
    })
    this.#subscription = subscription
    await subscription.create(this.#nodes)
    this.#onProof()
    return subscription.id
  }

  /** What the server itself says of its units; beside the values, which do not wait for it. */
  async #readUnits(connection: OpcUaConnection): Promise<void> {
    try {
      const watched = this.#nodes.filter(({ isWatched }) => isWatched)
      const units = await unitsOf(
        connection,
        watched.map(({ nodeId }) => nodeId),
      )
      for (const { nodeId, entries } of watched) {
        const unit = units.get(nodeId)
        for (const { entry } of entries) {
          // A member of a structure has no unit of its own.
          if (unit === undefined || entry.tag.valuePath !== undefined) delete entry.statedUnit
          else entry.statedUnit = unit
        }
      }
    } catch (thrown) {
      this.ports.log.debug(`The units that ${this.name} states could not be read: ${reasonOf(thrown)}.`)
    }
  }

  #retryNodes(backoff: Backoff, keep: (timer: NodeJS.Timeout) => void): NodeJS.Timeout {
    return this.attempts.later(backoff.next(), () => {
      const refused = this.#nodes.filter((node) => !node.isWatched)
      const asking =
        refused.length === 0 ? Promise.resolve() : (this.#subscription?.watch(refused) ?? Promise.resolve())
      asking
        .catch((thrown) => this.ports.log.debug(`Refused variables could not be asked for again: ${reasonOf(thrown)}.`))
        .finally(() => keep(this.#retryNodes(backoff, keep)))
    })
  }

  #onAnswered(node: Node): void {
    if (node.isWatched) return
    for (const { entry } of node.entries) {
      entry.last = undefined
      entry.peerQuality = 'bad'
      this.tags.say(entry, itemTrouble(this.name, node.nodeId, node.status ?? 'Bad'))
    }
  }

  #onProof(): void {
    if (this.attempts.isStopped) return
    const nowMs = this.ports.clock.nowMs()
    this.watchdog.proof(nowMs)
    this.alive(nowMs)
    this.#hasConnected = true
    this.status.set('connected')
    if (this.#lostSinceMs === undefined) return
    this.#lostSinceMs = undefined
    this.#isEmptying = false
    this.#settle(SETTLE_AT_MOST_MS)
  }

  /** What the server queued comes first, as history; then the newest word of every tag holds again from now on. */
  #settle(afterMs: number): void {
    clearTimeout(this.#settling)
    this.#settling = this.attempts.later(afterMs, () => {
      this.#settling = undefined
      if (this.#lostSinceMs === undefined) this.tags.redeliver(this.ports.clock.nowMs())
    })
  }

  /** The server's clock came: where it is the present one, the queue is being emptied by now. */
  #onServerClock(serverTMs: number, nowMs: number): void {
    const aheadMs = serverTMs - nowMs
    const isPresent = this.#serverAheadMs === undefined || Math.abs(aheadMs - this.#serverAheadMs) < PRESENT_MS
    if (this.#settling === undefined) {
      this.#serverAheadMs = aheadMs
    } else if (isPresent && !this.#isEmptying) {
      this.#isEmptying = true
      this.#settle(Math.max(500, 2 * this.config.publishingMs))
    }
    this.offset.seed(serverTMs, nowMs)
  }

  protected onSilent(): void {
    const nowMs = this.ports.clock.nowMs()
    this.#lostSinceMs = nowMs
    this.tags.loseAll(nowMs)
    // A refusal says more than silence does.
    if (this.status.state === 'refused') return
    this.status.set(
      'lost',
      `${this.name} (${this.config.endpoint}) has given no sign of life for ${(1.5 * this.config.keepAliveS).toFixed(1)} s: check the PLC and the network.${TRIED_AGAIN}`,
    )
  }

  #onMessage(serverTMs: number | undefined, values: { node: Node; value: DataValue }[]): void {
    const nowMs = this.ports.clock.nowMs()
    this.#onProof()
    if (serverTMs !== undefined) this.#onServerClock(serverTMs, nowMs)
    // Stamps are learned from before any is used, so that one message is measured with one offset.
    for (const { node, value } of values) {
      const stampMs = this.#stampOf(value)
      if (!node.nextIsHeld && stampMs !== undefined) this.offset.observe(stampMs, nowMs)
    }
    const timed = values.map(({ node, value }) => {
      const isHeld = node.nextIsHeld
      node.nextIsHeld = false
      return { node, value, tMs: this.#timeOf(node, value, isHeld, nowMs) }
    })
    timed.sort((a, b) => a.tMs - b.tMs)
    for (const { node, value, tMs } of timed) this.#deliver(node, value, tMs, nowMs)
  }

  #stampOf(value: DataValue): number | undefined {
    if (this.config.time === 'arrival') return undefined
    const stamp =
      this.config.time === 'server' ? value.serverTimestamp : (value.sourceTimestamp ?? value.serverTimestamp)
    return stamp?.getTime()
  }

  #timeOf(node: Node, value: DataValue, isHeld: boolean, nowMs: number): number {
    const stampMs = this.#stampOf(value)
    if (stampMs === undefined) return nowMs
    const tMs = this.offset.pipelineTMs(stampMs, nowMs)
    if (!isHeld) return tMs
    const isFromBeforeLoss = node.entries.some(({ entry }) => entry.isLost && tMs <= (entry.lastTMs ?? tMs - 1))
    return nowMs - tMs > HELD_VALUE_AGE_MS || isFromBeforeLoss ? nowMs : tMs
  }

  #deliver(node: Node, value: DataValue, tMs: number, nowMs: number): void {
    const quality = severity(value.statusCode)
    for (const { entry, path } of node.entries) {
      if (quality === 'bad') {
        this.tags.deliverBad(entry, tMs, nowMs, valueTrouble(this.name, entry.address, value.statusCode.name))
        continue
      }
      const converted = fromVariant(value.value, path)
      if ('value' in converted) this.tags.deliver(entry, converted.value, quality, tMs, nowMs)
      else this.tags.ignore(entry, `${entry.address} of ${this.name} ${converted.trouble}.`)
    }
  }
}

function nodesOf(tags: TagBook): Node[] {
  const byId = new Map<string, Node>()
  for (const entry of tags.entries) {
    const { address, valuePath } = entry.tag
    const path = valuePath === undefined ? undefined : parsePath(valuePath)
    if (valuePath !== undefined && path === undefined) {
      tags.say(
        entry,
        `"${valuePath}" is no value_path: it is names with dots and [n] for arrays, as in drives[0].speed.`,
      )
      continue
    }
    let node = byId.get(address)
    if (node === undefined) {
      node = { nodeId: address, status: undefined, isWatched: false, nextIsHeld: true, entries: [] }
      byId.set(address, node)
    }
    node.entries.push({ entry, path })
  }
  return [...byId.values()]
}
