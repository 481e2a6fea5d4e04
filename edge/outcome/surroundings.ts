/**
 * What one unwind has to remember so that its next splice's record can say what was around it: forecasts, the waiting
 * roll's preparation, the newest alarms. Pure; plain data.
 */
import type { MaterialConfig, UnwindConfig } from '../config/config.ts'
import type { Cycle } from '../cycle/cycle.ts'
import type { Assessment } from '../estimators/assessment.ts'
import { copyOf } from '../plain-data.ts'
import type { RollData, SignalsNow } from '../signals/now.ts'
import type { UnwindSignals } from '../signals/unwind-signals.ts'
import { ForecastRing } from './forecast-ring.ts'
import { AROUND_MS, newObservation, type Observation, type RollNames } from './observation.ts'
import { PreparationWatch } from './preparation-watch.ts'

/** A position that shows less than this above its core holds no roll, m. */
const BARE_CORE_M = 3e-3
/** Line speed below which it stands (recording contract: 1 m/min), m/s. */
const STANDING_MPS = 1 / 60
/** Alarms of the last minute: more than this are one trouble. */
const MOST_RECENT = 20
/** More than any turret has. */
const MOST_SPINDLES = 8

export interface SurroundingsInput {
  now: SignalsNow
  lineMps: number
  signals: UnwindSignals
  rollData: RollData
  assessment: Assessment | undefined
  /** Web off the roll, m. */
  rollWebM: number
}

export class Surroundings {
  readonly #config: UnwindConfig
  readonly #materials: Readonly<Record<string, MaterialConfig>>
  readonly #forecasts = new ForecastRing()
  readonly #preparation = new PreparationWatch()
  #recentAlarms: { id: string; tMs: number }[] = []
  /** Spindles that ran: a config need not name them. */
  #seenSpindles: string[] = []

  constructor(config: UnwindConfig, materials: Readonly<Record<string, MaterialConfig>>) {
    this.#config = config
    this.#materials = materials
  }

  step(input: SurroundingsInput): void {
    const { now, lineMps, signals, rollData, assessment } = input
    const { tMs } = now
    const said = assessment?.forecast
    const sinceMs = assessment === undefined ? 0 : tMs - assessment.tMs
    this.#forecasts.note(
      assessment === undefined || said === undefined || assessment.state === 'splicing'
        ? undefined
        : {
            tMs: assessment.tMs,
            rollWebM: input.rollWebM - (lineMps * sinceMs) / 1000,
            metres: said.metres,
            seconds: said.seconds,
            marginM: said.bufferMarginM,
          },
      tMs,
      lineMps > STANDING_MPS,
    )
    const { spindle } = now
    if (spindle !== undefined && !this.#seenSpindles.includes(spindle)) {
      this.#seenSpindles = [...this.#seenSpindles, spindle].slice(-MOST_SPINDLES)
    }
    const waitingM = signals.number('waiting_diameter', tMs)
    this.#preparation.step(tMs, {
      isThere: waitingM === undefined ? undefined : waitingM > rollData.coreM + BARE_CORE_M,
      id: signals.text('waiting_roll_id', tMs),
      isReady: now.newRollReady,
    })
  }

  noteAlarm(id: string, tMs: number): void {
    if (this.#recentAlarms.some((alarm) => alarm.id === id)) return
    this.#recentAlarms = [...this.#recentAlarms, { id, tMs }].slice(-MOST_RECENT)
  }

  rollChanged(tMs: number, signals: UnwindSignals): void {
    this.#forecasts.clear()
    this.#preparation.rollChanged(tMs, signals.text('waiting_roll_id', tMs))
  }

  /** @param rollWebM - web off the roll when the splice started; undefined for one that never began. */
  start(cycle: Cycle, rollWebM: number | undefined, input: SurroundingsInput): Observation {
    const { now, signals, rollData } = input
    const { splicer, buffer } = this.#config
    const { material } = rollData
    const known = Object.hasOwn(this.#materials, material) ? this.#materials[material] : undefined
    const { widthM, basisWeightKgPerM2, price } = known ?? {}
    return newObservation({
      tMs: now.tMs,
      rolls: rollNames(signals, now),
      // Without any setting the roll is counted down to its core: that is no setting.
      settingM: cycle.settingM > rollData.coreM ? cycle.settingM : null,
      tensionUsual: now.tensionSetpoint ?? now.tension,
      marginForecastM: this.#forecasts.at(cycle.startedTMs)?.marginM,
      reserveM: buffer?.reserveM,
      tailM: splicer.tailM,
      forecastErrors: rollWebM === undefined ? [] : this.#forecasts.errors(cycle.startedTMs, rollWebM),
      preparation: this.#preparation.stages(cycle.startedTMs),
      kgPerM: widthM === undefined || basisWeightKgPerM2 === undefined ? null : widthM * basisWeightKgPerM2,
      pricePerM: price?.perM ?? null,
      currency: price?.currency ?? null,
      alarms: this.#recentAlarms.filter(({ tMs }) => tMs >= cycle.startedTMs - AROUND_MS).map(({ id }) => id),
      extra: signals.extras(now.tMs),
      newRollM: signals.number('waiting_diameter', now.tMs) ?? null,
      waitingSpindle: rollWebM === undefined ? null : this.#otherThan(now.spindle),
    })
  }

  /** Where the roll waits that takes over from the running one: known where there are two. */
  #otherThan(running: string | undefined): string | null {
    const named = spindlesOf(this.#config)
    const all = named.length > 0 ? named : this.#seenSpindles
    if (running === undefined || all.length !== 2 || !all.includes(running)) return null
    return all.find((one) => one !== running) ?? null
  }

  snapshot(): unknown {
    return {
      forecasts: this.#forecasts.snapshot(),
      preparation: this.#preparation.snapshot(),
      recentAlarms: copyOf(this.#recentAlarms),
      seenSpindles: [...this.#seenSpindles],
    }
  }

  restore(state: unknown): void {
    const s = state as {
      forecasts: Parameters<ForecastRing['restore']>[0]
      preparation: Parameters<PreparationWatch['restore']>[0]
      recentAlarms: { id: string; tMs: number }[]
      seenSpindles: string[]
    }
    this.#forecasts.restore(s.forecasts)
    this.#preparation.restore(s.preparation)
    this.#recentAlarms = copyOf(s.recentAlarms)
    this.#seenSpindles = [...s.seenSpindles]
  }
}

/** As a config names them: tags by spindle, and what the tag means that says which one runs. */
const spindlesOf = ({ signals }: UnwindConfig): string[] => [
  ...new Set([
    ...signals.flatMap(({ spindle }) => spindle ?? []),
    ...signals.flatMap(({ signal, values }) => (signal === 'active_spindle' ? Object.values(values ?? {}) : [])),
  ]),
]

export const rollNames = (signals: UnwindSignals, now: SignalsNow): RollNames => ({
  rollId: signals.text('roll_id', now.tMs) ?? null,
  material: signals.text('material', now.tMs) ?? null,
  spindle: now.spindle ?? null,
})
