/**
 * All signals of one unwind: which tag feeds which, what each says now, and which are silent. Pure.
 *
 * `roll_diameter` may come from one tag per spindle; the running one is chosen by `active_spindle`.
 */
import { type SignalConfig, tagAddress, type UnwindConfig } from '../config/config.ts'
import { type Quality, type RawValue, type Sample, tagKey } from '../sample.ts'
import { ByTag } from './by-tag.ts'
import type { SignalName } from './catalogue.ts'
import { Entered, type EnteredState } from './entered.ts'
import { type Accepted, Held, type HeldState } from './held.ts'
import { Strokes, type StrokesState } from './strokes.ts'
import type { SignalValue } from './value.ts'

/** What the names of extra tags begin with. */
const EXTRA = 'extra.'

export interface LostSignal {
  signal: string
  source: string
  address: string
  seconds: number
  /** It had a value once. */
  hasSpoken: boolean
  /** Its tag reports, but what it said last can't be a value of this signal. */
  refused: string | undefined
}

/** One tag of an unwind as it stands. */
export interface SignalReading {
  config: SignalConfig
  value: SignalValue | undefined
  /** What the tag itself said for it, before bit, map, scale and unit. */
  raw: RawValue | undefined
  quality: Quality
  /** Of the newest report that was a value or the end of one, ms. */
  tMs: number | undefined
  isFresh: boolean
  ignored: number
  refused: string | undefined
}

export interface UnwindSignalsState {
  held: HeldState[]
  /** Last proof of life per source, ms. */
  alive: Record<string, number>
  /** Undefined in a snapshot from before people entered more than "ready". */
  entered?: EnteredState
  strokes?: StrokesState
}

export class UnwindSignals {
  readonly #held: Held[]
  readonly #byTag = new ByTag<Held>()
  readonly #bySignal = new Map<string, Held[]>()
  readonly #staleAfterMs: ReadonlyMap<string, number>
  readonly #alive: Map<string, number>
  /** What people entered: it counts where no tag says the same. */
  readonly entered: Entered
  /** Of the line speed: a line that is indexed moves and rests, and runs all the same. */
  readonly strokes = new Strokes()

  /** @param staleAfterS - per source name, s. */
  constructor(config: UnwindConfig, staleAfterS: (source: string) => number) {
    this.#held = config.signals.map((signal) => new Held(signal))
    const stale = new Map<string, number>()
    for (const held of this.#held) {
      const { tag, signal } = held.config
      this.#byTag.add(tag.source, tagAddress(tag), held)
      push(this.#bySignal, signal, held)
      stale.set(tag.source, staleAfterS(tag.source) * 1000)
    }
    this.#staleAfterMs = stale
    this.#alive = new Map()
    this.entered = new Entered(config.id)
  }

  /** Source and address of each tag that this unwind listens to. */
  get tags(): IterableIterator<[source: string, address: string]> {
    return this.#byTag.tags()
  }

  has(signal: SignalName): boolean {
    return this.#bySignal.has(signal)
  }

  alive(source: string, tMs: number): void {
    const before = this.#alive.get(source)
    if (before === undefined || tMs > before) this.#alive.set(source, tMs)
  }

  /** Says what became of the report for each signal that its tag feeds, and what that said before. */
  accept(sample: Sample, each: (held: Held, accepted: Accepted, before: Held['value']) => void): void {
    // A report of bad quality may be the source's own obituary: it proves nothing.
    if (sample.quality !== 'bad') this.alive(sample.source, sample.tMs)
    const targets = this.#byTag.get(sample)
    if (targets === undefined) return
    for (const held of targets) {
      const before = held.value
      const accepted = held.accept(sample)
      if (held.config.signal === 'line_speed') this.#noteSpeed(held, accepted, sample.tMs)
      each(held, accepted, before)
    }
  }

  #noteSpeed({ value }: Held, accepted: Accepted, tMs: number): void {
    if (accepted === 'value') this.strokes.report(Math.max(0, value as number), tMs)
    else if (accepted === 'ended') this.strokes.lose()
  }

  #fresh(held: Held, tMs: number): boolean {
    if (held.value === undefined || held.tMs === undefined) return false
    const source = held.config.tag.source
    const staleAfterMs = this.#staleAfterMs.get(source) ?? 10_000
    if (tMs - (this.#alive.get(source) ?? held.tMs) > staleAfterMs) return false
    const periodS = held.config.periodS
    return periodS === undefined || tMs - held.tMs <= Math.max(3000 * periodS, staleAfterMs)
  }

  /** The tag that feeds a signal now; per spindle the running one's. */
  running(signal: SignalName, tMs: number): Held | undefined {
    const all = this.#bySignal.get(signal)
    if (all === undefined) return undefined
    if (all.length === 1) return all[0]
    const spindle = this.text('active_spindle', tMs)
    return spindle === undefined ? undefined : all.find((held) => held.config.spindle === spindle)
  }

  #value(signal: SignalName, tMs: number): Held['value'] {
    const held = this.running(signal, tMs)
    return held !== undefined && this.#fresh(held, tMs) ? held.value : undefined
  }

  number(signal: SignalName, tMs: number): number | undefined {
    if (!this.has(signal)) return this.#enteredNumber(signal)
    const value = this.#value(signal, tMs)
    return typeof value === 'number' ? value : undefined
  }

  /** Of a signal with one tag per spindle: what the tag of a spindle that waits says. */
  waiting(signal: SignalName, tMs: number): number | undefined {
    const all = this.#bySignal.get(signal)
    const running = this.running(signal, tMs)
    if (all === undefined || running === undefined) return undefined
    const held = all.find((one) => one !== running)
    return held !== undefined && this.#fresh(held, tMs) && typeof held.value === 'number' ? held.value : undefined
  }

  boolean(signal: SignalName, tMs: number): boolean | undefined {
    const value = this.#value(signal, tMs)
    return typeof value === 'boolean' ? value : undefined
  }

  text(signal: SignalName, tMs: number): string | undefined {
    if (!this.has(signal)) return this.#enteredText(signal)
    const value = this.#value(signal, tMs)
    return typeof value === 'string' ? value : undefined
  }

  /** What each `extra` tag says now in its own unit, by its own name. Silent ones are left out. */
  extras(tMs: number): Record<string, SignalValue> {
    const found: Record<string, SignalValue> = {}
    for (const held of this.#held) {
      const { signal, toSi } = held.config
      if (!signal.startsWith(EXTRA) || held.value === undefined || !this.#fresh(held, tMs)) continue
      found[signal.slice(EXTRA.length)] = typeof held.value === 'number' ? held.value / toSi : held.value
    }
    return found
  }

  #enteredNumber(signal: SignalName): number | undefined {
    return signal === 'waiting_diameter' ? this.entered.waiting?.diameterM : undefined
  }

  #enteredText(signal: SignalName): string | undefined {
    if (signal === 'roll_id') return this.entered.running?.rollId
    if (signal === 'material') return this.entered.running?.material
    if (signal === 'waiting_roll_id') return this.entered.waiting?.rollId
    return signal === 'waiting_material' ? this.entered.waiting?.material : undefined
  }

  /** Since when a signal's tag says what it says, ms; undefined where it says nothing. */
  sinceTMs(signal: SignalName, tMs: number): number | undefined {
    const held = this.running(signal, tMs)
    return held !== undefined && this.#fresh(held, tMs) ? held.tMs : undefined
  }

  /** Tags of a kind that have a value now. */
  heldNow(tMs: number, isWanted: (config: SignalConfig) => boolean): { config: SignalConfig; value: SignalValue }[] {
    return this.#held.flatMap(({ config, value }, i) =>
      value !== undefined && isWanted(config) && this.#fresh(this.#held[i]!, tMs) ? [{ config, value }] : [],
    )
  }

  /** Loaded, prepared and armed: by the PLC's word, else by a person's. */
  newRollReady(tMs: number): boolean | undefined {
    if (this.has('new_roll_ready')) return this.boolean('new_roll_ready', tMs)
    return this.entered.ready
  }

  /** Time since the source of a signal last proved that it lives, ms; undefined where it never did. */
  silentMs(signal: SignalName, tMs: number): number | undefined {
    const source = this.running(signal, tMs)?.config.tag.source
    const aliveTMs = source === undefined ? undefined : this.#alive.get(source)
    return aliveTMs === undefined ? undefined : tMs - aliveTMs
  }

  /** What every mapped tag reads now, in the config's order. */
  readings(tMs: number): SignalReading[] {
    return this.#held.map((held) => ({
      config: held.config,
      value: held.value,
      raw: held.raw,
      quality: held.quality,
      tMs: held.tMs,
      isFresh: this.#fresh(held, tMs),
      ignored: held.ignored,
      refused: held.refused === undefined ? undefined : String(held.refused),
    }))
  }

  /** Mapped signals that have no value now, longest first, s since the last one. */
  lost(tMs: number, startedTMs: number): LostSignal[] {
    const lost: LostSignal[] = []
    for (const held of this.#held) {
      if (this.#fresh(held, tMs)) continue
      if (held.config.spindle !== undefined && this.running(held.config.signal as SignalName, tMs) !== held) continue
      const aliveTMs = this.#alive.get(held.config.tag.source)
      // What a source says of its own end comes later than its last sign of life.
      const since =
        held.value === undefined
          ? Math.min(held.tMs ?? startedTMs, aliveTMs ?? Number.POSITIVE_INFINITY)
          : Math.max(held.tMs ?? startedTMs, aliveTMs ?? 0)
      lost.push({
        signal: held.config.signal,
        source: held.config.tag.source,
        address: tagAddress(held.config.tag),
        seconds: Math.max(0, (tMs - since) / 1000),
        hasSpoken: held.hasSpoken,
        refused: held.refused === undefined ? undefined : String(held.refused),
      })
    }
    return lost.sort((a, b) => b.seconds - a.seconds)
  }

  get ignored(): number {
    return this.#held.reduce((sum, held) => sum + held.ignored, 0)
  }

  snapshot(): UnwindSignalsState {
    return {
      held: this.#held.map((held) => held.snapshot()),
      alive: Object.fromEntries(this.#alive),
      entered: this.entered.snapshot(),
      strokes: this.strokes.snapshot(),
    }
  }

  restore(state: UnwindSignalsState): void {
    for (const held of this.#held) {
      const key = tagKey(held.config.tag.source, tagAddress(held.config.tag))
      const ofTag = state.held.filter(({ tag }) => tag === key)
      const isSame = ({ signal, spindle }: HeldState): boolean =>
        signal === held.config.signal && spindle === (held.config.spindle ?? null)
      // A signal that a changed config adds to a known tag takes what that tag said last: a constant isn't said again.
      const kept = ofTag.find(isSame) ?? ofTag[0]
      if (kept !== undefined) held.restore(kept)
    }
    for (const [source, tMs] of Object.entries(state.alive)) this.alive(source, tMs)
    if (state.entered !== undefined) this.entered.restore(state.entered)
    if (state.strokes !== undefined) this.strokes.restore(state.strokes)
  }
}

function push<V>(map: Map<string, V[]>, key: string, value: V): void {
  const list = map.get(key)
  if (list === undefined) map.set(key, [value])
  else list.push(value)
}
