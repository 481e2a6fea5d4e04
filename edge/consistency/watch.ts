/**
 * The self-check as the pipeline drives it: which report is fed as what, and when its findings are drawn. Pure.
 */
import type { AlarmFacts } from '../alarms/facts.ts'
import type { ConsistencyView } from '../api/messages.ts'
import type { UnwindConfig } from '../config/config.ts'
import type { Messages } from '../messages/message.ts'
import type { Accepted, Held } from '../signals/held.ts'
import { type RollData, type SignalsNow, storedWebM } from '../signals/now.ts'
import type { UnwindSignals } from '../signals/unwind-signals.ts'
import { scaledNumber } from '../signals/value.ts'
import { Consistency, type ConsistencyState } from './consistency.ts'
import { checkConsistency, type Finding, type Suspected, spindleUnitOf } from './findings.ts'
import { changedSignals, type Readings, readingsOf, withoutEvidenceOf } from './forget.ts'
import { consistencyView } from './report.ts'

/** Findings are drawn so often for the alarm: they rest on minutes of web. */
const JUDGE_EVERY_MS = 5000

interface WatchState {
  consistency: ConsistencyState
  disagreement: AlarmFacts['disagreement'] | null
  spindleUnit: AlarmFacts['spindleUnit'] | null
  judgedTMs: number | null
  /** How each signal was read for this evidence. */
  readings: Readings
}

export class ConsistencyWatch {
  readonly #config: UnwindConfig
  readonly #signals: UnwindSignals
  readonly #consistency: Consistency
  readonly #hasSpindles: boolean
  readonly #readings: Readings
  #disagreement: AlarmFacts['disagreement']
  #spindleUnit: AlarmFacts['spindleUnit']
  #judgedTMs: number | undefined

  constructor(config: UnwindConfig, signals: UnwindSignals) {
    this.#config = config
    this.#signals = signals
    this.#consistency = new Consistency(config.splicer.method === 'zero_speed' ? config.splicer.stopS : 1)
    this.#readings = readingsOf(config)
    this.#hasSpindles = config.signals.filter(({ signal }) => signal === 'roll_diameter').length > 1
  }

  /** A speed that disagrees with the other tags; undefined while they agree. */
  get disagreement(): AlarmFacts['disagreement'] {
    return this.#disagreement
  }

  /** A spindle whose diameter is in another unit than the config states; undefined while all fit. */
  get spindleUnit(): AlarmFacts['spindleUnit'] {
    return this.#spindleUnit
  }

  /** What became of one report. */
  report(held: Held, accepted: Accepted, tMs: number): void {
    const { signal } = held.config
    if (accepted === 'ignored') this.#consistency.refuse(signal, String(held.refused ?? ''), true)
    if (accepted !== 'value' || typeof held.value !== 'number') return
    switch (signal) {
      case 'roll_diameter':
        if (this.#hasSpindles && held !== this.#signals.running('roll_diameter', tMs)) return
        break
      case 'buffer_position': {
        const storedM = storedWebM(this.#config.buffer, held.value)
        if (storedM !== undefined) this.#consistency.report(signal, storedM, tMs)
        this.#consistency.refuse(signal, '', false)
        return
      }
      case 'line_speed':
      case 'unwind_speed':
      case 'spindle_speed':
      case 'line_length':
        break
      default:
        return
    }
    this.#consistency.refuse(signal, '', false)
    this.#consistency.report(signal, held.value, tMs)
  }

  step(now: SignalsNow, rollData: RollData): void {
    const { tMs } = now
    if (!this.#consistency.tick(tMs, now.lineMps !== undefined)) return
    const { trigger, method } = this.#config.splicer
    const triggersByDiameter = trigger === 'diameter' && method !== 'stopped'
    const isSet = rollData.spliceDiameterM > rollData.coreM
    this.#consistency.second({
      tMs,
      // A tag whose newest report was refused holds a value that it does not say any more.
      diameterM: this.#signals.running('roll_diameter', tMs)?.refused === undefined ? now.readingM : undefined,
      otherDiameterM: this.#hasSpindles ? this.#signals.waiting('roll_diameter', tMs) : undefined,
      labelM: rollData.labelM,
      spliceDiameterM: triggersByDiameter && isSet ? rollData.spliceDiameterM : undefined,
      spindle: now.spindle,
      spindleReadsM: this.#hasSpindles ? this.#spindleReadsM(tMs) : undefined,
    })
    if (this.#judgedTMs !== undefined && tMs - this.#judgedTMs < JUDGE_EVERY_MS) return
    this.#judgedTMs = tMs
    this.#disagreement = disagreementOf(this.#config, this.#consistency)
    const found = spindleUnitOf(this.#config, this.#consistency)
    this.#spindleUnit = found && { spindle: found.spindle, actual: found.mixUp.actual, stated: found.mixUp.stated }
  }

  /** Also what no diameter can be: in another unit it may be one, m. */
  #spindleReadsM(tMs: number): number | undefined {
    const held = this.#signals.running('roll_diameter', tMs)
    const raw = held?.refused ?? held?.raw
    const reads = held === undefined || raw === undefined ? undefined : scaledNumber(held.config, raw)
    return held !== undefined && reads !== undefined && reads > 0 ? reads * held.config.toSi : undefined
  }

  /** The findings as they stand, in words. */
  view(tMs: number, messages: Messages): ConsistencyView {
    return consistencyView(this.#config, tMs, checkConsistency(this.#config, this.#consistency), messages)
  }

  snapshot(): WatchState {
    return {
      consistency: this.#consistency.snapshot(),
      disagreement: this.#disagreement ?? null,
      spindleUnit: this.#spindleUnit ?? null,
      judgedTMs: this.#judgedTMs ?? null,
      readings: this.#readings,
    }
  }

  restore(state: WatchState | undefined): void {
    // A snapshot from before there was a self-check.
    if (state === undefined) return
    const changed = changedSignals(state.readings, this.#readings)
    if (changed.length > 0) {
      // What disagreed is judged anew, at the next step.
      this.#consistency.restore(withoutEvidenceOf(state.consistency, changed))
      return
    }
    this.#consistency.restore(state.consistency)
    this.#disagreement = state.disagreement ?? undefined
    this.#spindleUnit = state.spindleUnit ?? undefined
    this.#judgedTMs = state.judgedTMs ?? undefined
  }
}

const SPEEDS: ReadonlySet<string> = new Set(['line_speed', 'unwind_speed', 'spindle_speed', 'line_length'])

/** Where a diameter or a label may as well be the cause, the speeds need not disagree. */
function disagreementOf(config: UnwindConfig, consistency: Consistency): AlarmFacts['disagreement'] {
  const areSpeeds = ({ signals }: Suspected): boolean => signals.every((signal) => SPEEDS.has(signal))
  for (const finding of checkConsistency(config, consistency).findings) {
    const part = speedOfAll(finding, areSpeeds)
    if (part !== undefined) return part
    const [signal] = finding.signals
    if (signal === undefined || finding.factor === undefined || !areSpeeds(finding)) continue
    // A factor that is a usual mix-up of a speed's units, and of no other tag's, tells which it is.
    const isKnownMixUp = finding.mixUp !== undefined && finding.alternatives.every(({ mixUp }) => mixUp === undefined)
    if (isKnownMixUp || finding.alternatives.every(areSpeeds)) return { signal, share: finding.factor - 1 }
  }
  return undefined
}

/** Two mix-ups at once of which, whichever two it is, a speed is one. */
function speedOfAll(
  { together, alternatives }: Finding,
  areSpeeds: (one: Suspected) => boolean,
): AlarmFacts['disagreement'] {
  const speed = together?.find(areSpeeds)
  const [signal] = speed?.signals ?? []
  if (signal === undefined || speed?.factor === undefined) return undefined
  const isSure = alternatives.every((one) => one.together?.some(({ signals }) => signals.includes(signal)) === true)
  return isSure ? { signal, share: speed.factor - 1 } : undefined
}
