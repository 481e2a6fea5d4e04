/**
 * What one pipeline knows for advice: it notes each assessment, remembers what people entered and what rolls gave, and
 * answers when somebody asks. Pure.
 */
import { AdviceMemory } from './advice/memory.ts'
import type { LeftOnCore } from './advice/splice-diameter.ts'
import { flagsNow, lastRollOf, materialOf, scheduleNow, wastedOnCore } from './advice/unwind-advice.ts'
import type { AdviceView, WhatIfView } from './api/messages.ts'
import type { AdviceColumns } from './columns.ts'
import type { MaterialConfig, UnwindConfig } from './config/config.ts'
import type { AssessInput, Assessment } from './estimators/assessment.ts'
import {
  type AdviceSource,
  adviceColumns,
  adviceView,
  inputOf,
  type LineShare,
  lineShare,
  noAdvice,
  speedOf,
  whatIfView,
} from './pipeline-advice.ts'
import { fullDiameterM, jobEnd, leftToCore, nextFlag, type Outlook, splicesBehind } from './pipeline-outlook.ts'
import type { Sample } from './sample.ts'
import type { UnwindSignals } from './signals/unwind-signals.ts'

export class UnwindAdvisor {
  readonly #config: UnwindConfig
  readonly #signals: UnwindSignals
  readonly #materials: Readonly<Record<string, MaterialConfig>>
  readonly #memory = new AdviceMemory()
  #newest: { assess: AssessInput; assessment: Assessment; lineWebM: number } | undefined

  constructor(config: UnwindConfig, signals: UnwindSignals, materials: Readonly<Record<string, MaterialConfig>>) {
    this.#config = config
    this.#signals = signals
    this.#materials = materials
  }

  /** @returns false where the sample is nothing that advice is made of. @param fromWebM - web count at the roll's loading. */
  accept(sample: Sample, fromWebM: number): boolean {
    return this.#memory.accept(sample, this.#config.id, fromWebM)
  }

  /** @param lineWebM - line web until now, m. */
  note(assess: AssessInput, assessment: Assessment, lineWebM: number): void {
    this.#newest = { assess, assessment, lineWebM }
  }

  forget(): void {
    this.#newest = undefined
  }

  /**
   * Another roll runs.
   * @param material - of the old one.
   * @param begunAtWebM - web count at which the old one was begun, where that was seen; @param webM - and now.
   * @param isSplice - the old one ran to its splice: what it gave is a whole roll's web, and its joint is on its way.
   */
  rollChanged(tMs: number, material: string, begunAtWebM: number | undefined, webM: number, isSplice: boolean): void {
    const isWhole = isSplice && begunAtWebM !== undefined
    const runningMps = this.#newest?.assess.cycle.line.runningMps
    this.#memory.rollChanged(tMs, webM, material, isWhole ? webM - begunAtWebM : undefined, runningMps)
    if (isSplice) this.#memory.jointAtWebM = webM
    this.#newest = undefined
  }

  get #source(): AdviceSource | undefined {
    if (this.#newest === undefined) return undefined
    return { ...this.#newest, signals: this.#signals, memory: this.#memory, materials: this.#materials }
  }

  view(tMs: number): AdviceView {
    const source = this.#source
    const { id, splicer } = this.#config
    return source === undefined ? noAdvice(id, tMs, splicer.preparation.totalS) : adviceView(id, tMs, source)
  }

  /** What a screen shows of what comes. @param overdueSinceTMs - since when the roll has been past its splice's diameter. */
  outlook(overdueSinceTMs: number | undefined): Outlook {
    const source = this.#source
    if (source === undefined)
      return { nextSplices: [], nextFlag: null, leftToCore: null, jobEnd: null, fullM: undefined }
    const input = inputOf(source)
    return {
      jobEnd: jobEnd(lastRollOf(input)),
      leftToCore: leftToCore(overdueSinceTMs, source.assess),
      fullM: fullDiameterM(
        this.#memory.usualLength(source.assess.rollData.material, undefined)?.lengthM,
        source.assess,
      ),
      nextSplices: splicesBehind(scheduleNow(input)?.splices ?? []),
      nextFlag: this.#memory.flags.length === 0 ? null : nextFlag(flagsNow(input), speedOf(source)),
    }
  }

  /** No further roll is asked for: the job ends before the next splice. */
  get isLastRoll(): boolean {
    const source = this.#source
    return source !== undefined && lastRollOf(inputOf(source)) !== undefined
  }

  columns(tMs: number): AdviceColumns {
    return adviceColumns(this.view(tMs))
  }

  whatIf(tMs: number, speedMps: number): WhatIfView {
    return whatIfView(this.#config.id, tMs, speedMps, this.#source)
  }

  lineShare(): LineShare | undefined {
    const source = this.#source
    return source === undefined ? undefined : lineShare(this.#config.id, source)
  }

  /** What today's setting leaves on a core, at the line's usual speed. */
  waste(): LeftOnCore | undefined {
    if (this.#newest === undefined) return undefined
    const { assess, assessment } = this.#newest
    return wastedOnCore(assess, assessment, materialOf(this.#materials, assess.rollData.material))
  }

  snapshot(): unknown {
    return this.#memory.snapshot()
  }

  restore(state: unknown): void {
    this.#memory.restore(state as Parameters<AdviceMemory['restore']>[0])
  }
}
