/**
 * An output that loses nothing: points go into the store's durable spool and leave it only when the database has said
 * that it has them, or that it will never take them (then they become dead letters, with the reason).
 *
 * One batch is on its way at a time. While the database is away or refuses everybody, the spool waits and the pause between
 * attempts doubles. A batch with a bad point in it is halved until the bad one is alone: it never blocks the queue.
 */
import type { Clock } from '../clock.ts'
import { reasonOf } from '../errors.ts'
import type { SpooledPoint, Store } from '../history/store.ts'
import type { Output, OutputHealth, Point } from './output.ts'

/** What became of a batch. */
export type Delivery =
  /** The database has every point. */
  | { kind: 'taken' }
  /** The database has every point but these, and will never take them. Indices into the batch. */
  | { kind: 'partly_taken'; refused: readonly { index: number; reason: string }[] }
  /** Some of the batch can't be taken, and the answer doesn't say which. */
  | { kind: 'refused'; reason: string }
  /** Not now: away, overloaded, signed out. Sentence for people; pause where the database asked for one. */
  | { kind: 'away'; sentence: string; pauseMs?: number }

/** Sends one batch once. Must not throw, nor retry. */
export interface Sender {
  send(points: readonly Point[]): Promise<Delivery>
}

export interface BufferedOptions {
  store: Store
  sender: Sender
  clock: Clock
  /** Points in one request. */
  mostInBatch?: number
  firstPauseMs?: number
  longestPauseMs?: number
}

const MOST_IN_BATCH = 5000
/** So many points refused one after another and none taken: more likely the database's fault than theirs, so go slowly. */
const REFUSED_IN_A_ROW = 50
/** How often the spool is looked at. */
const LOOK_MS = 500
const FIRST_PAUSE_MS = 1000
const LONGEST_PAUSE_MS = 30_000
/** How long `stop` waits for the batch that is on its way: what isn't confirmed stays in the spool. */
const STOP_MS = 5000

export class BufferedOutput implements Output {
  private readonly options: BufferedOptions
  private state: OutputHealth['state'] = 'idle'
  private trouble: string | undefined
  private sent = 0
  private refused = 0
  private refusedInARow = 0
  private notBeforeMs = 0
  private pauseMs = 0
  private isStopped = true
  private underWay: Promise<void> | undefined
  private stopLooking: () => void = () => undefined

  constructor(options: BufferedOptions) {
    this.options = options
  }

  /** Never blocks and never throws; durable with the store's next commit. */
  write(points: readonly (Point | undefined)[]): void {
    this.options.store.spool(points.filter((point) => point !== undefined))
  }

  start(): void {
    if (!this.isStopped) return
    this.isStopped = false
    this.stopLooking = this.options.clock.every(LOOK_MS, () => this.look())
  }

  health(): OutputHealth {
    const { state, sent, refused, trouble } = this
    return { state, waiting: this.options.store.spoolSize(), sent, refused, trouble }
  }

  async stop(): Promise<void> {
    this.isStopped = true
    this.stopLooking()
    if (this.underWay === undefined) return
    const { promise: tooLong, resolve } = Promise.withResolvers<void>()
    const cancel = this.options.clock.every(STOP_MS, resolve)
    await Promise.race([this.underWay, tooLong])
    cancel()
  }

  private look(): void {
    if (this.underWay !== undefined || this.options.clock.nowMs() < this.notBeforeMs) return
    this.underWay = this.empty()
      .catch((thrown: unknown) => this.pause(`Sending to the database failed: ${reasonOf(thrown)}.`))
      .finally(() => {
        this.underWay = undefined
      })
  }

  /** Sends batch after batch until the spool is empty, the database is away, or the output is stopped. */
  private async empty(): Promise<void> {
    const { store } = this.options
    while (!this.isStopped) {
      const batch = store.spooled(this.options.mostInBatch ?? MOST_IN_BATCH)
      if (batch.length === 0) {
        if (this.state === 'sending') this.state = 'idle'
        return
      }
      if (this.state === 'idle') this.state = 'sending'
      if (!(await this.deliver(batch))) return
    }
  }

  /** @returns whether every point of the batch was settled: taken, or refused for good. */
  private async deliver(batch: readonly SpooledPoint[]): Promise<boolean> {
    const delivery = await this.options.sender.send(batch.map(({ point }) => point))
    switch (delivery.kind) {
      case 'taken':
        this.settle(batch, new Map())
        return true
      case 'partly_taken':
        this.settle(batch, new Map(delivery.refused.map(({ index, reason }) => [index, reason])))
        return true
      case 'away':
        this.pause(delivery.sentence, delivery.pauseMs)
        return false
      case 'refused':
        if (batch.length === 1) {
          this.settle(batch, new Map([[0, delivery.reason]]))
          this.refusedInARow += 1
          if (this.refusedInARow < REFUSED_IN_A_ROW) return true
          this.pause(`The database refuses point after point (${delivery.reason}): see to its settings.`)
          return false
        }
        // Whatever the database took of it already is only written over by itself.
        return (
          (await this.deliver(batch.slice(0, Math.ceil(batch.length / 2)))) &&
          (await this.deliver(batch.slice(Math.ceil(batch.length / 2))))
        )
    }
  }

  private settle(batch: readonly SpooledPoint[], refused: ReadonlyMap<number, string>): void {
    const { store } = this.options
    for (const [index, reason] of refused) {
      const letter = batch[index]
      if (letter !== undefined) store.addDeadLetter(letter.point, reason)
    }
    // One commit holds both: a point is in the spool or among the dead letters, never in neither.
    store.removeSpooled(batch.map(({ id }) => id))
    if (batch.length > refused.size) this.refusedInARow = 0
    this.sent += batch.length - refused.size
    this.refused += refused.size
    this.state = 'sending'
    this.trouble = undefined
    this.pauseMs = 0
  }

  private pause(sentence: string, askedMs = 0): void {
    const { firstPauseMs = FIRST_PAUSE_MS, longestPauseMs = LONGEST_PAUSE_MS, clock } = this.options
    this.pauseMs = Math.min(longestPauseMs, Math.max(firstPauseMs, this.pauseMs * 2))
    this.notBeforeMs = clock.nowMs() + Math.max(this.pauseMs, Math.min(askedMs, longestPauseMs))
    this.state = 'waiting'
    this.trouble = sentence
  }
}
