/**
 * One unwind: samples in, forecasts, splices and alarms out. Pure: time comes with the samples and the steps.
 *
 * sources → signals → cycle → estimators → outcome → alarms
 */
import type { AlarmBoard } from './alarms/board.ts'
import { unwindAlarms } from './alarms/catalogue.ts'
import { enterAlarm } from './alarms/enter.ts'
import type { AlarmFacts } from './alarms/facts.ts'
import type { SpliceView, UnwindView } from './api/messages.ts'
import type { ForecastRow } from './columns.ts'
import { OPERATOR_SOURCE, type UnwindConfig } from './config/config.ts'
import { ConsistencyWatch } from './consistency/watch.ts'
import { type CycleEvidence, CycleWatch, type WatchChange } from './cycle/cycle-watch.ts'
import { type Assessment, assess } from './estimators/assessment.ts'
import { adoptSettings } from './estimators/learning/settings.ts'
import { type LearnedSplicer, learnedNothing } from './estimators/learning/splicer.ts'
import { RunningRoll, rollPrior } from './estimators/running-roll.ts'
import { WebLength } from './estimators/web-length.ts'
import { JointWatch } from './joints/joint-watch.ts'
import { SpliceBook } from './outcome/splice-book.ts'
import { UnwindAdvisor } from './pipeline-advisor.ts'
import type { EntriesInput } from './pipeline-entries.ts'
import { cycleEvidence, cycleMotion, rollContext } from './pipeline-evidence.ts'
import { alarmFacts, type FactMemory, faultAt, faultFacts, newFactMemory } from './pipeline-facts.ts'
import { isOtherRollByHand, isSpindleChangedByHand } from './pipeline-hand-changes.ts'
import { keepForHistory } from './pipeline-history.ts'
import { followSplices, JOINT_SIGNALS, jointStep } from './pipeline-joints.ts'
import { learnFromChange, learnFromMoment, learnFromRoll } from './pipeline-learning.ts'
import { isNothing, NOTHING, noResults, type PipelineOptions, type PipelineResults } from './pipeline-ports.ts'
import { type Parts, type PipelineState, restoreParts, SNAPSHOT_VERSION, snapshotsOf } from './pipeline-state.ts'
import { UnwindTrends } from './pipeline-trends.ts'
import { forecastRow, unwindView } from './pipeline-view.ts'
import { copyOf } from './plain-data.ts'
import type { Sample } from './sample.ts'
import type { Held } from './signals/held.ts'
import { type RollData, readNow, rollDataOf, type SignalsNow, storedWebM } from './signals/now.ts'
import { UnwindSignals } from './signals/unwind-signals.ts'

/** The pipeline's fixed step and how often forecast and alarms are assessed, ms. */
export const [STEP_MS, ASSESS_MS] = [100, 500]
/** Steps farther apart than this are a gap: nothing is known of what happened in it, ms. */
const GAP_MS = 2000

export class UnwindPipeline {
  readonly config: UnwindConfig
  readonly consistency: ConsistencyWatch
  readonly advisor: UnwindAdvisor
  readonly trends: UnwindTrends
  readonly #signals: UnwindSignals
  readonly #cycle: CycleWatch
  readonly #web = new WebLength()
  readonly #roll = new RunningRoll()
  readonly #book: SpliceBook
  readonly alarms: AlarmBoard<AlarmFacts>
  readonly #options: PipelineOptions
  readonly #joints: JointWatch
  #learned: LearnedSplicer = learnedNothing()
  #storedM: number | undefined
  #rollData: RollData
  #now: SignalsNow | undefined
  #assessment: Assessment | undefined
  #memory: FactMemory = newFactMemory()
  /** Of the last step: a roll that was changed by hand is told of by what was known before. */
  #evidence: CycleEvidence | undefined
  #firstTMs: number | undefined
  #lastTMs: number | undefined
  /** The next step is the first after a restore: what was between was not seen, however short. */
  #isRestored = false
  /** A value ended: what hangs on it is assessed at the next step, not half a second later. */
  #isDue = false
  #results: PipelineResults = noResults()

  constructor(config: UnwindConfig, options: PipelineOptions) {
    this.config = config
    this.#options = options
    this.#signals = new UnwindSignals(config, options.staleAfterS)
    this.consistency = new ConsistencyWatch(config, this.#signals)
    this.advisor = new UnwindAdvisor(config, this.#signals, options.materials)
    this.trends = new UnwindTrends(config, (entry) => this.#results.log.push(entry))
    this.#cycle = new CycleWatch(config.splicer, config.buffer)
    this.#book = new SpliceBook(config, options.materials)
    this.#joints = new JointWatch(config)
    adoptSettings(this.#learned, config)
    this.#rollData = rollDataOf(config, this.#signals, 0, options.materials)
    this.alarms = unwindAlarms(config.id, options.messages, (view) => {
      this.#results.alarmViews.push(view)
      this.#book.noteAlarm(view)
    })
  }

  /** Source and address of each tag that this unwind listens to. */
  get tags(): IterableIterator<[source: string, address: string]> {
    return this.#signals.tags
  }

  /** A source proved that it lives. */
  alive = (source: string, tMs: number): void => this.#signals.alive(source, tMs)

  /** One report of one tag: it counts at once, at its own time. */
  accept(sample: Sample): void {
    if (sample.source === OPERATOR_SOURCE && (this.trends.accept(sample) || this.#enter(sample))) return
    this.#signals.accept(sample, (held, accepted, before) => {
      keepForHistory(this.config, this.#signals, held, accepted, sample, this.#options.onSignal)
      this.consistency.report(held, accepted, sample.tMs)
      if (accepted === 'value') this.#take(held, sample.tMs, before)
      else if (accepted === 'ended') this.#end(held, sample.tMs)
      else if (accepted === 'ignored') this.#options.onIgnored?.(this.config.id, held.config.signal, sample)
    })
  }

  #end(held: Held, tMs: number): void {
    this.#isDue = true
    if (held.config.signal === 'line_speed') this.#web.lose(tMs)
  }

  #enter(sample: Sample): boolean {
    if (this.#signals.entered.accept(sample, this.#web.atM(sample.tMs))) return true
    if (this.#joints.enter(sample)) return true
    if (this.advisor.accept(sample, this.#roll.begunAtWebM ?? this.#rollWebM(sample.tMs))) return true
    const rows = enterAlarm(this.alarms, this.config.id, sample)
    this.#results.alarms.push(...(rows ?? []))
    return rows !== undefined
  }

  #take(held: Held, tMs: number, before: Held['value']): void {
    const { signal } = held.config
    this.#roll.settle(tMs, this.#rollWebM)
    if (signal === 'line_speed') {
      const gapSdM = this.#web.report(Math.max(0, held.value as number), tMs)
      this.#unsettle(gapSdM, tMs)
    } else if (signal === 'line_length') {
      this.#unsettle(this.#web.count(held.value as number, tMs), tMs)
    } else if (signal === 'buffer_position') {
      this.#storedM = storedWebM(this.config.buffer, held.value as number)
      this.#noteMotion(tMs, undefined)
    } else if (signal === 'unwind_speed') {
      this.#noteMotion(tMs, Math.max(0, held.value as number))
    } else if (signal === 'spindle_speed') {
      const diameterM = this.#now?.readingM ?? this.#assessment?.diameterM ?? this.#rollData.coreM
      this.#cycle.motion.noteSpindle(tMs, Math.abs(held.value as number) * Math.PI * diameterM)
    } else if (signal === 'roll_diameter' && held === this.#signals.running('roll_diameter', tMs)) {
      this.#roll.report(held.value as number, tMs, this.#mayUseDiameter(), this.#rollData.coreM)
    } else if (JOINT_SIGNALS.has(signal)) this.#joints.report(held, before, tMs, this.#web.atM(tMs))
  }

  #unsettle(sdM: number, tMs: number): void {
    if (sdM > 0) for (const follower of [this.#roll, this.#joints]) follower.unsettle(sdM, tMs, this.#rollWebM(tMs))
  }

  #noteMotion(tMs: number, measuredMps: number | undefined): void {
    this.#cycle.report(tMs, this.#web, measuredMps, this.#storedM, this.#signals.strokes)
  }

  /** Web taken off the roll: what the line took and what went into the buffer, m. */
  readonly #rollWebM = (tMs: number): number => this.#web.atM(tMs) + (this.#storedM ?? 0)

  /** In a cycle the old roll stands still and computed diameters lie; while the line stands a reading says nothing new. */
  #mayUseDiameter(): boolean {
    const cycle = this.#cycle.current
    return !this.#cycle.isStanding && (cycle === undefined || cycle.transferTMs !== null)
  }

  /** Brings everything to `tMs`, on the grid of `STEP_MS`. All samples up to `tMs` must have been accepted. */
  step(tMs: number): void {
    this.#firstTMs ??= tMs
    const longestMs = this.#isRestored ? 2 * STEP_MS : GAP_MS
    if (this.#lastTMs !== undefined && tMs - this.#lastTMs > longestMs) {
      // The web of a time that nobody saw is a guess, and the motion before it says nothing.
      this.#web.lose(this.#lastTMs)
      this.#cycle.forgetMotion()
      this.#joints.gap()
    }
    this.#isRestored = false
    this.#learned.tMs = this.#lastTMs = tMs
    this.#roll.settle(Number.POSITIVE_INFINITY, this.#rollWebM)
    this.#rollData = rollDataOf(this.config, this.#signals, tMs, this.#options.materials)
    const now = readNow(this.#signals, tMs, this.config, this.#rollData.coreM)
    this.#now = now
    this.consistency.step(now, this.#rollData)
    if (now.lineMps === undefined) this.#web.lose(tMs)
    else this.#run(now, now.lineMps)
    if (tMs % ASSESS_MS === 0 || this.#isDue) this.#assess(now)
    this.#isDue = false
  }

  #run(now: SignalsNow, lineMps: number): void {
    const { tMs } = now
    this.#web.advance(tMs)
    const webM = this.#rollWebM(tMs)
    if (now.readingM !== undefined && !now.isPeriodic && now.isDiameterHeard) {
      this.#roll.hold(now.readingM, tMs, webM, this.#mayUseDiameter())
    }
    if (now.isReadingRefused) this.#roll.noteNothing()
    const context = rollContext(now, lineMps, this.#cycle, this.#assessment)
    const rollChange = this.#roll.step(tMs, webM, () => rollPrior(this.#learned, this.#rollData, now.spindle), context)
    if (isOtherRollByHand(rollChange, now, this.#rollData.coreM, this.#cycle)) this.#changedByHand(now, false)
    const evidence = cycleEvidence({
      now,
      webM: this.#web.atM(tMs),
      roll: this.#roll,
      rollData: this.#rollData,
      assessment: this.#assessment,
      learned: this.#learned,
    })
    this.#evidence = evidence
    const change = this.#cycle.step(cycleMotion(now, lineMps), evidence)
    this.#noteSpindle(now)
    this.#applyCycle(change, evidence, now, lineMps)
    this.#joints.step(jointStep(this.#signals, now, evidence.webM, webM, this.#assessment?.diameterM))
  }

  #noteSpindle(now: SignalsNow): void {
    const before = this.#memory.spindle
    this.#memory.spindle = now.spindle ?? before
    if (isSpindleChangedByHand(before, now, this.#cycle)) this.#changedByHand(now, true)
  }

  /** @param isNew - the estimate does not know yet. */
  #changedByHand(now: SignalsNow, isNew: boolean): void {
    const [missedTMs, before] = [this.#cycle.changedByHand(), this.#evidence]
    if (missedTMs && before) this.#applyCycle({ missedTMs, isRollGone: true }, before, now, 0)
    this.#rollChanged(now.tMs, isNew)
  }

  #applyCycle(change: WatchChange, evidence: CycleEvidence, now: SignalsNow, lineMps: number): void {
    const page = this.#book.apply(change, {
      now,
      lineMps,
      webM: evidence.webM,
      storedM: this.#storedM ?? 0,
      rollAt: (webM) => (change.isRollGone ? undefined : this.#roll.at(webM)),
      signals: this.#signals,
      rollData: this.#rollData,
      noiseM: this.#roll.estimator.noiseM,
      assessment: this.#assessment,
      learned: this.#learned,
      evidence,
      runningMps: this.#cycle.line.runningMps,
    })
    followSplices(this.#joints, this.config.id, change.transferred, page, evidence.webM, this.#storedM ?? 0, now.tMs)
    if (change.transferred !== undefined) this.#rollChanged(now.tMs, true, true)
    learnFromChange(this.#learned, change, this.config.splicer, this.#cycle, this.#roll.estimator.noiseM)
    this.#results.splices.push(...page.records)
    for (const record of page.records) this.trends.record(record, now.tMs)
    if (page.missed !== undefined) this.#memory.noteMissed(page.missed.id, page.missed.cause, now.tMs)
    for (const { cycle, verdict } of page.closed) this.#memory.noteVerdict(this.config.id, cycle, verdict)
  }

  /** @param isNew - the estimate does not know yet. */
  #rollChanged(tMs: number, isNew: boolean, isSplice = false): void {
    learnFromRoll(this.#learned, this.#roll.estimator.filter, this.#rollData, this.#memory.spindle, tMs)
    this.advisor.rollChanged(tMs, this.#rollData.material, this.#roll.begunAtWebM, this.#rollWebM(tMs), isSplice)
    if (isNew) this.#roll.change(tMs, this.#rollWebM(tMs), isSplice ? this.#assessment : undefined)
    this.#cycle.rollChanged()
    this.#book.rollChanged(tMs, this.#signals)
    this.#signals.entered.rollChanged()
    this.#joints.rollChanged()
    this.#memory.rollChanged()
    this.#assessment = undefined
  }

  #assess(now: SignalsNow): void {
    const input = {
      now,
      config: this.config,
      rollData: this.#rollData,
      roll: this.#roll,
      webM: this.#rollWebM(now.tMs),
      cycle: this.#cycle,
      learned: this.#learned,
      fault: this.#memory.fault,
    }
    learnFromMoment(input, this.#signals, this.#assessment)
    this.#assessment = assess(input)
    this.trends.step(this.#signals, now.tMs)
    this.advisor.note(input, this.#assessment, this.#web.atM(now.tMs))
    const facts = alarmFacts({
      ...input,
      assessment: this.#assessment,
      advisor: this.advisor,
      lost: this.#signals.lost(now.tMs, this.#firstTMs ?? now.tMs),
      startedTMs: this.#firstTMs ?? now.tMs,
      memory: this.#memory,
      disagreement: this.consistency.disagreement,
      spindleUnit: this.consistency.spindleUnit,
      trend: this.trends.fact(),
      joints: this.#joints.facts(),
      entries: this.entered(now.tMs),
    })
    this.#results.alarms.push(...this.alarms.evaluate(facts))
  }

  /** Results since the last call, in order. */
  drain(): PipelineResults {
    const [results, joints] = [this.#results, this.#joints.drain()]
    if (joints === undefined && isNothing(results)) return NOTHING
    this.#results = noResults()
    return { ...results, ...joints }
  }

  /** Records as they stand when no more samples come. */
  finish(): SpliceView[] {
    return this.#book.finish(this.#lastTMs ?? 0, this.#web.atM(this.#lastTMs ?? 0))
  }

  /** The forecast as it stands, stamped with `tMs`. */
  forecast(tMs: number): ForecastRow {
    if (this.#now !== undefined && this.#assessment?.tMs !== this.#now.tMs) this.#assess(this.#now)
    return forecastRow(this.config.id, tMs, this.#assessment)
  }

  /** What a screen needs of this unwind. */
  view(tMs: number): UnwindView {
    return unwindView({
      forecast: this.forecast(tMs),
      config: this.config,
      now: this.#now,
      assessment: this.#assessment,
      rollData: this.#rollData,
      entries: this.entered(tMs),
      lost: this.#signals.lost(tMs, this.#firstTMs ?? tMs),
      alarms: this.alarms.standing(),
      fault: faultAt(this.#memory, tMs),
      ...this.advisor.outlook(this.#memory.overdueSinceTMs),
      joints: this.#joints.views(),
    })
  }

  /** Of what `entriesView` is made: what people entered about this unwind. */
  entered(tMs: number): EntriesInput {
    const at = { rollData: this.#rollData, learned: this.#learned, tMs, lineWebM: this.#web.atM(tMs) }
    return { config: this.config, signals: this.#signals, ...this.#options, ...at }
  }

  /** What is no estimate and still holds after a fault: what the tags said last, and which alarms were told of. */
  salvage(): unknown {
    return snapshotsOf({ signals: this.#signals, alarms: this.alarms })
  }

  adopt(salvage: unknown): void {
    restoreParts({ signals: this.#signals, alarms: this.alarms }, salvage as Record<string, unknown>)
  }

  /** This pipeline failed and goes on from a snapshot: it knows nothing until the next step, and says why for a while. */
  failed(reason: string, tMs: number): void {
    this.#memory.fault = { reason, tMs }
    this.#now = undefined
    this.#assessment = undefined
    this.advisor.forget()
    this.#results.alarms.push(...this.alarms.evaluate(faultFacts(this.config, this.#rollData, reason, tMs)))
  }

  /** Everything needed to go on later, as plain data. */
  snapshot(): unknown {
    return {
      version: SNAPSHOT_VERSION,
      parts: snapshotsOf(this.#parts),
      learned: copyOf(this.#learned),
      storedM: this.#storedM ?? null,
      assessment: this.#assessment ?? null,
      memory: this.#memory.snapshot(),
      firstTMs: this.#firstTMs ?? null,
      lastTMs: this.#lastTMs ?? null,
    } satisfies PipelineState
  }

  restore(state: unknown, isPlantAnew = false): void {
    const s = state as PipelineState
    if (s.version !== SNAPSHOT_VERSION) throw new Error(`it has version ${s.version}, not ${SNAPSHOT_VERSION}`)
    this.#learned = { ...learnedNothing(), ...copyOf(s.learned) }
    adoptSettings(this.#learned, this.config)
    restoreParts(isPlantAnew ? { trends: this.trends, alarms: this.alarms } : this.#parts, s.parts)
    if (isPlantAnew) return
    this.#book.adopt(this.#cycle.current)
    this.#storedM = s.storedM ?? undefined
    this.#assessment = s.assessment ?? undefined
    this.#memory = newFactMemory(s.memory)
    this.#firstTMs = s.firstTMs ?? undefined
    this.#lastTMs = s.lastTMs ?? undefined
    this.#isRestored = true
  }

  /** What keeps its own state, in the order in which it is restored. */
  get #parts(): Parts {
    return {
      signals: this.#signals,
      cycle: this.#cycle,
      consistency: this.consistency,
      advice: this.advisor,
      trends: this.trends,
      web: this.#web,
      roll: this.#roll,
      book: this.#book,
      joints: this.#joints,
      alarms: this.alarms,
    }
  }
}
