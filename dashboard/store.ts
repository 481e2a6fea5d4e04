/** The one live connection to the daemon: opens it, watches it, opens it again for ever, and tells the pages. */
import type { HealthView, SpliceView } from '../edge/api/messages.ts'
import type { ScreenEvents } from '../edge/api/messages-screen.ts'
import { isSignInRefusal, readJson, toAddress } from './api.ts'
import { Countdowns } from './live/countdowns.ts'
import { type Freshness, freshness, REOPEN_AFTER_MS, retryDelayMs } from './live/freshness.ts'
import { applyMessage, initialState, type LiveState } from './live/state.ts'

const EVENTS = [
  'hello',
  'unwinds',
  'changes',
  'splice',
  'alarm',
  'joint',
  'health',
] as const satisfies readonly (keyof ScreenEvents)[]
/** How often freshness and countdowns are looked at, ms: four times a second, as often as anything may move. */
export const TICK_MS = 250
/** Sources may change without the stream saying so. */
const HEALTH_EVERY_MS = 10_000
/** Enough to know how the newest cycle of each unwind ended. */
const NEWEST_SPLICES = 40

export class LiveStore {
  /** What each unwind's countdown last showed, on whichever page. */
  readonly countdowns = new Countdowns()
  #state: LiveState
  #stream: EventSource | undefined
  #attempt = 0
  #attemptAtMs = 0
  #retry: number | undefined
  readonly #listeners = new Set<() => void>()
  readonly #tickListeners = new Set<() => void>()
  readonly #timers: number[] = []
  readonly #now: () => number

  constructor(now: () => number = () => performance.now()) {
    this.#now = now
    this.#state = initialState(now())
  }

  get state(): LiveState {
    return this.#state
  }
  get nowMs(): number {
    return this.#now()
  }
  get freshness(): Freshness {
    return freshness(this.#state.lastMessageAtMs, this.#state.openedAtMs, this.#now())
  }

  /** Calls back after every message and every tick until the returned function is called. */
  subscribe(listener: () => void): () => void {
    this.#listeners.add(listener)
    return () => this.#listeners.delete(listener)
  }

  /** Calls back on every tick, and at once when the first figures are there, until the returned function is called. */
  subscribeTicks(listener: () => void): () => void {
    this.#tickListeners.add(listener)
    return () => this.#tickListeners.delete(listener)
  }

  start(): void {
    this.#open()
    this.#timers.push(window.setInterval(() => this.#tick(), TICK_MS))
    this.#timers.push(window.setInterval(() => this.#readHealth(), HEALTH_EVERY_MS))
    this.#readHealth()
  }

  stop(): void {
    for (const timer of this.#timers) clearInterval(timer)
    clearTimeout(this.#retry)
    this.#stream?.close()
    this.#listeners.clear()
    this.#tickListeners.clear()
  }

  /** After somebody signed in: no need to wait for the next attempt. */
  reconnect(): void {
    this.#attempt = 0
    this.#open()
    this.#readHealth()
  }

  #open(): void {
    clearTimeout(this.#retry)
    this.#retry = undefined
    this.#stream?.close()
    this.#attemptAtMs = this.#now()
    const stream = new EventSource(toAddress('api/stream?changes=true'))
    this.#stream = stream
    for (const event of EVENTS)
      stream.addEventListener(event, (message) => this.#receive(event, (message as MessageEvent<string>).data))
    stream.addEventListener('error', () => {
      // The browser's own retry gives up on an answer that is no stream (a proxy's 502, a 401): ours does not.
      if (this.#stream === stream) this.#scheduleRetry()
    })
  }

  #scheduleRetry(): void {
    if (this.#retry !== undefined) return
    this.#stream?.close()
    this.#retry = window.setTimeout(() => this.#open(), retryDelayMs(this.#attempt++))
    this.#readHealth()
  }

  #receive(event: keyof ScreenEvents, text: string): void {
    try {
      const data: unknown = JSON.parse(text)
      const message = { event, data } as Parameters<typeof applyMessage>[1]
      this.#state = applyMessage(this.#state, message, this.#now())
    } catch (error) {
      // One unreadable message is no reason to stop; if none is readable, silence shows within 3 s.
      console.warn(`A message "${event}" of the monitor could not be read.`, error)
      return
    }
    // A whole frame comes first after every opening: what it brings is shown at once.
    if (event === 'unwinds') {
      this.#attempt = 0
      this.#notifyTicks()
    }
    if (event === 'hello') this.#readSplices()
    this.#notify()
  }

  #tick(): void {
    const silentSinceMs = Math.max(this.#state.lastMessageAtMs ?? 0, this.#attemptAtMs)
    if (this.#retry === undefined && this.#now() - silentSinceMs > REOPEN_AFTER_MS) this.#scheduleRetry()
    this.#notify()
    this.#notifyTicks()
  }

  /** Splices from before this page opened: an aborted one is said until the next. */
  #readSplices(): void {
    readJson<SpliceView[]>(`api/splices?limit=${NEWEST_SPLICES}`).then(
      (splices) => {
        for (const data of splices.toReversed())
          if (!this.#state.splices.has(data.id))
            this.#state = applyMessage(this.#state, { event: 'splice', data }, this.#now())
      },
      (error: unknown) => console.warn('The newest splices could not be read.', error),
    )
  }

  #readHealth(): void {
    readJson<HealthView>('api/health').then(
      (health) => {
        this.#state = { ...this.#state, health }
        this.#notify()
      },
      (error: unknown) => {
        // No answer shows as a lost connection anyway; only a wish to know who is there needs its own form.
        if (isSignInRefusal(error)) this.#state = { ...this.#state, needsSignIn: true }
      },
    )
  }

  #notifyTicks(): void {
    for (const listener of this.#tickListeners) listener()
  }

  #notify(): void {
    for (const listener of this.#listeners) listener()
  }
}
