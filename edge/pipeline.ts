/**
 * One unwind: samples in, forecasts, splices and alarms out. Pure: time comes with the samples and the steps.
 *
 * sources → signals → cycle → estimators → outcome → alarms
 */
import { type AlarmBoard, createAlarmBoard } from './alarms/board.ts'
import { UNWIND_ALARMS } from './alarms/catalogue.ts'
import type { AlarmFacts } from './alarms/facts.ts'
import type { AlarmView, SpliceView, UnwindView } from './api/messages.ts'
import type { AlarmId, AlarmRow, ForecastRow } from './columns.ts'
import { type MaterialConfig, OPERATOR_SOURCE, type UnwindConfig } from './config/config.ts'
import type { Cycle } from './cycle/cycle.ts'
import { type CycleEvidence, CycleWatch, isActive, type WatchChange } from './cycle/cycle-watch.ts'
import { type Assessment, assess, slowStopS } from './estimators/assessment.ts'
import { learnFromCycle, learnFromRoll } from './estimators/learning/learn.ts'
import { expectCaliper, type LearnedSplicer, learnedNothing } from './estimators/learning/splicer.ts'
import type { RollFilter } from './estimators/roll-filter.ts'
import { expectOffset, RunningRoll } from './estimators/running-roll.ts'
import { WebLength } from './estimators/web-length.ts'
import type { Messages } from './messages/message.ts'
import { newMissed } from './outcome/missed-cycle.ts'
import { missedView, OpenCycles } from './outcome/open-cycles.ts'
import { causeOfMissed } from './outcome/verdict.ts'
import type { WatchInput } from './outcome/watch.ts'
import { alarmFacts, type FactMemory, faultAt, faultFacts, newFactMemory } from './pipeline-facts.ts'
import { forecastRow, unwindView } from './pipeline-view.ts'
import type { Sample } from './sample.ts'
import type { SignalName } from './signals/catalogue.ts'
import { contractSignal, contractValue } from './signals/contract-units.ts'
import type { Accepted, Held } from './signals/held.ts'
import { type RollData, readNow, rollDataOf, type SignalsNow, storedWebM } from './signals/now.ts'
import { UnwindSignals } from './signals/unwind-signals.ts'
import { readValue } from './signals/value.ts'

/** The pipeline's fixed step and how often forecast and alarms are assessed, ms. */
export const STEP_MS = 100
export const ASSESS_MS = 500
/** Steps farther apart than this are a gap: nothing is known of what happened in it, ms. */
const GAP_MS = 2000
/** A reading this near to the core shows no web, m. */
const BARE_CORE_M = 3e-3
/** A snapshot of another shape than this one's is not read. */
const SNAPSHOT_VERSION = 1

export interface PipelineOptions {
  staleAfterS: (source: string) => number
  materials: Readonly<Record<string, MaterialConfig>>
  messages: Messages
  /** Called with every value in the contract's unit, or null where a value ended: for history and traces. */
  onSignal?: ((unwind: string, signal: string, tMs: number, value: number | null) => void) | undefined
  /** Called with every report that can't be a value of its signal. */
  onIgnored?: ((unwind: string, signal: string, sample: Sample) => void) | undefined
}

export interface PipelineResults {
  splices: SpliceView[]
  alarms: AlarmRow[]
  alarmViews: AlarmView[]
}

export class UnwindPipeline {
  readonly config: UnwindConfig
  readonly #signals: UnwindSignals
  readonly #cycle: CycleWatch
  readonly #web = new WebLength()
  readonly #roll = new RunningRoll()
  readonly #open: OpenCycles
  readonly #alarms: AlarmBoard<AlarmFacts>
  readonly #materials: PipelineOptions['materials']
  readonly #onSignal: PipelineOptions['onSignal']
  readonly #onIgnored: PipelineOptions['onIgnored']
  #learned: LearnedSplicer = learnedNothing()
  #storedM: number | undefined
  #rollData: RollData
  #now: SignalsNow | undefined
  #assessment: Assessment | undefined
  #memory: FactMemory = newFactMemory()
  #firstTMs: number | undefined
  #lastTMs: number | undefined
  /** The next step is the first after a restore: what was between was not seen, however short. */
  #isRestored = false
  /** A value ended: what hangs on it is assessed at the next step, not half a second later. */
  #isDue = false
  #results: PipelineResults = { splices: [], alarms: [], alarmViews: [] }

  constructor(config: UnwindConfig, options: PipelineOptions) {
    this.config = config
    this.#materials = options.materials
    this.#onSignal = options.onSignal
    this.#onIgnored = options.onIgnored
    this.#signals = new UnwindSignals(config, options.staleAfterS)
    this.#cycle = new CycleWatch(config.splicer, config.buffer)
    this.#open = new OpenCycles(config.id)
    this.#rollData = rollDataOf(config, this.#signals, 0, options.materials)
    this.#alarms = createAlarmBoard({
      unwind: config.id,
      definitions: UNWIND_ALARMS,
      messages: options.messages,
      onChange: (view) => this.#results.alarmViews.push(view),
    })
  }

  /** Keys of the tags that this unwind listens to. */
  get tags(): IterableIterator<string> {
    return this.#signals.tags
  }

  /** A source proved that it lives. */
  alive(source: string, tMs: number): void {
    this.#signals.alive(source, tMs)
  }

  /** One report of one tag: it counts at once, at its own time. */
  accept(sample: Sample): void {
    if (sample.source === OPERATOR_SOURCE && this.#acknowledge(sample)) return
    this.#signals.accept(sample, (held, accepted) => {
      if (this.#onSignal !== undefined) this.#keep(held, accepted, sample)
      if (accepted === 'value') this.#take(held, sample.tMs)
      else if (accepted === 'ended') this.#end(held, sample.tMs)
      else if (accepted === 'ignored') this.#onIgnored?.(this.config.id, held.config.signal, sample)
    })
  }

  #end(held: Held, tMs: number): void {
    this.#isDue = true
    if (held.config.signal === 'line_speed') this.#web.lose(tMs)
  }

  /** Late samples are history too; of several spindles' tags the running one's is. */
  #keep(held: Held, accepted: Accepted, sample: Sample): void {
    if (accepted === 'ignored') return
    const { signal, spindle } = held.config
    if (spindle !== undefined && this.#signals.running(signal as SignalName, sample.tMs) !== held) return
    if (sample.quality === 'bad') {
      this.#onSignal?.(this.config.id, contractSignal(signal), sample.tMs, null)
      return
    }
    const value = accepted === 'late' ? readValue(held.config, sample.value ?? '') : held.value
    const kept = value === undefined ? undefined : contractValue(held.config, value, this.config.buffer)
    if (kept !== undefined) this.#onSignal?.(this.config.id, kept.signal, sample.tMs, kept.value)
  }

  #acknowledge(sample: Sample): boolean {
    const [verb, unwind, alarm] = sample.address.split('/')
    if (verb !== 'acknowledge' || unwind !== this.config.id || alarm === undefined) return false
    const comment = typeof sample.value === 'string' ? sample.value : ''
    this.#results.alarms.push(...this.#alarms.acknowledge(alarm as AlarmId, sample.person ?? '', comment, sample.tMs))
    return true
  }

  #take(held: Held, tMs: number): void {
    const { signal } = held.config
    if (signal === 'line_speed') {
      const gapSdM = this.#web.report(Math.max(0, held.value as number), tMs)
      if (gapSdM > 0) this.#roll.unsettle(gapSdM)
    } else if (signal === 'buffer_position') {
      this.#storedM = storedWebM(this.config.buffer, held.value as number)
      if (!this.#cycle.isUnwindMeasured) this.#noteMotion(tMs, undefined)
    } else if (signal === 'unwind_speed') {
      this.#noteMotion(tMs, Math.max(0, held.value as number))
    } else if (signal === 'roll_diameter' && held === this.#signals.running('roll_diameter', tMs)) {
      this.#roll.report(held.value as number, tMs, this.#rollWebM(tMs), this.#mayUseDiameter())
    }
  }

  #noteMotion(tMs: number, measuredMps: number | undefined): void {
    this.#cycle.motion.report(tMs, this.#web.speedMps ?? 0, measuredMps, this.#storedM)
  }

  /** Web taken off the roll: what the line took and what went into the buffer, m. */
  #rollWebM(tMs: number): number {
    return this.#web.atM(tMs) + (this.#storedM ?? 0)
  }

  /** In a cycle the old roll stands still and computed diameters lie; while the line stands a reading says nothing new. */
  #mayUseDiameter(): boolean {
    const cycle = this.#cycle.current
    return !this.#cycle.isStanding && (cycle === undefined || cycle.transferTMs !== null)
  }

  /** Brings everything to `tMs`, on the grid of `STEP_MS`. All samples up to `tMs` must have been accepted. */
  step(tMs: number): void {
    this.#firstTMs ??= tMs
    const longestMs = this.#isRestored ? 2 * STEP_MS : GAP_MS
    if (this.#lastTMs !== undefined && tMs - this.#lastTMs > longestMs) this.#bridge(this.#lastTMs)
    this.#isRestored = false
    this.#lastTMs = tMs
    const now = readNow(this.#signals, tMs, this.config)
    this.#now = now
    this.#rollData = rollDataOf(this.config, this.#signals, tMs, this.#materials)
    if (now.lineMps === undefined) this.#web.lose(tMs)
    else this.#run(now, now.lineMps)
    if (tMs % ASSESS_MS === 0 || this.#isDue) this.#assess(now)
    this.#isDue = false
  }

  /** Nothing was seen for a while: the web of that time is a guess, and the motion before it says nothing. */
  #bridge(lastTMs: number): void {
    this.#web.lose(lastTMs)
    this.#cycle.forgetMotion()
  }

  #run(now: SignalsNow, lineMps: number): void {
    const { tMs } = now
    this.#web.advance(tMs)
    const webM = this.#rollWebM(tMs)
    if (now.readingM !== undefined && !now.isPeriodic) {
      this.#roll.hold(now.readingM, tMs, webM, this.#mayUseDiameter())
    }
    const rollChange = this.#roll.step(tMs, webM, () => this.#priorOfRoll(), {
      isStanding: this.#cycle.isStanding,
      isInCycle: this.#cycle.current !== undefined,
      isRefilling: this.#cycle.isRefilling,
    })
    // A bare core that the estimate had not expected is no other roll.
    const isCore = now.readingM !== undefined && now.readingM < this.#rollData.coreM + BARE_CORE_M
    if (rollChange === 'by_hand' && !isCore && this.#cycle.current === undefined) this.#rollChanged(tMs, false)
    const change = this.#cycle.step(
      {
        tMs,
        lineMps,
        setpointMps: now.setpointMps,
        measuredUnwindMps: now.unwindMps,
        storedM: now.storedM,
        step: now.spliceStep,
      },
      this.#evidence(now),
    )
    this.#noteSpindle(now)
    this.#applyCycle(change, now, lineMps)
  }

  #priorOfRoll() {
    const { material, labelM } = this.#rollData
    const caliper = expectCaliper(this.#learned, material, labelM)
    const offset = expectOffset(this.#learned.offset[this.#now?.spindle ?? ''])
    return { caliperM: caliper.caliperM, caliperSdM: caliper.sdM, offsetM: offset.offsetM, offsetSdM: offset.sdM }
  }

  #evidence(now: SignalsNow): CycleEvidence {
    const { estimator } = this.#roll
    const deviation = estimator.deviation
    const assessment = this.#assessment
    const diameterM = assessment?.diameterM
    const clearlyAboveM = Math.max(10e-3, 0.02 * (diameterM ?? 0))
    return {
      webM: this.#web.atM(now.tMs),
      active: isActive(now.spliceActive, now.spliceStep),
      spindle: now.spindle,
      // A reading that stands still while the roll shrinks has not jumped.
      jump: deviation !== undefined && deviation.byM > clearlyAboveM && !estimator.isStuck ? deviation : undefined,
      followsOldRoll: deviation === undefined && estimator.filter !== undefined && !estimator.isStuck,
      hasReading: now.readingM !== undefined,
      diameterM,
      diameterSdM: assessment?.diameterSdM ?? estimator.noiseM,
      settingM: this.#rollData.spliceDiameterM,
      coreM: this.#rollData.coreM,
      newRollReady: now.newRollReady,
      needM: assessment?.forecast?.bufferNeededM,
      dueM: assessment?.forecast?.metres,
      dueSdM: assessment?.forecast?.metresSd ?? 0,
      overdueM: assessment?.overdueM ?? 3e-3,
    }
  }

  /** A spindle that changes while the line stands brings another roll; running, only the cycle decides. */
  #noteSpindle(now: SignalsNow): void {
    const before = this.#memory.spindle
    if (now.spindle === undefined) return
    this.#memory.spindle = now.spindle
    const byHand = before !== undefined && before !== now.spindle && this.#cycle.current === undefined
    if (byHand && this.#cycle.isStanding) this.#rollChanged(now.tMs, true)
  }

  #applyCycle(change: WatchChange, now: SignalsNow, lineMps: number): void {
    if (change.started !== undefined) this.#cycleStarted(change.started, now, lineMps)
    if (change.transferred !== undefined) this.#transferred(change.transferred, now.tMs)
    if (change.ended !== undefined && change.ended.transferTMs !== null && change.ended.lineFellTMs === null) {
      learnFromCycle(this.#learned, change.ended, this.#roll.estimator.noiseM)
    }
    if (change.ranOut !== undefined) this.#missed(change.ranOut, now)
    if (change.missedTMs !== undefined) {
      this.#missed(
        newMissed(change.missedTMs, this.#evidence(now), this.#cycle.line.runningMps ?? lineMps, now.storedM),
        now,
      )
    }
    const newest = this.#open.newest
    if (change.recoveredTMs !== undefined && newest !== undefined) newest.recoveredTMs ??= change.recoveredTMs
    const { revised, closed } = this.#open.step(this.#watchInput(now, lineMps), {
      webM: this.#web.atM(now.tMs),
      pathLengthM: this.config.splicer.pathLengthM,
    })
    this.#results.splices.push(...revised)
    for (const { cycle, verdict } of closed) this.#memory.noteVerdict(this.config.id, cycle, verdict)
  }

  #watchInput(now: SignalsNow, lineMps: number): WatchInput {
    return {
      tMs: now.tMs,
      lineMps,
      storedM: now.storedM,
      bufferEndM: this.config.buffer?.tripStoredM,
      spliceFault: now.spliceFault,
      webBreak: now.webBreak,
      tension: now.tension,
      tensionSetpoint: now.tensionSetpoint,
    }
  }

  #cycleStarted(cycle: Cycle, now: SignalsNow, lineMps: number): void {
    const { tMs } = now
    const beforeM = (lineMps * (tMs - cycle.startedTMs)) / 1000
    const webAtStartM = this.#web.atM(tMs) - beforeM + (cycle.storedM ?? this.#storedM ?? 0)
    const roll = this.#roll.at(webAtStartM)
    if (roll !== undefined && this.config.splicer.method !== 'stopped') cycle.diameterM = roll.diameterM
    const trigger = this.#assessment?.trigger
    this.#open.add(cycle, this.#watchInput(now, lineMps), {
      slowStopS: slowStopS(this.config.splicer, this.#learned),
      reserveM: this.config.buffer?.reserveM,
      spliceSpeedMps: this.config.splicer.spliceSpeedMps,
      triggerOffsetM: trigger?.offsetM ?? 0,
      triggerScatterM: trigger?.scatterM ?? this.#roll.estimator.noiseM,
      isManual: this.config.splicer.trigger === 'manual',
    })
  }

  #transferred(cycle: Cycle, tMs: number): void {
    const rollWebM = (cycle.transferWebM ?? this.#web.atM(tMs)) + (cycle.storedAtTransferM ?? this.#storedM ?? 0)
    const roll = this.#roll.at(rollWebM)
    if (roll !== undefined) cycle.leftOnRollM = this.#leftM(roll)
    this.#rollChanged(tMs, true)
  }

  /** Web down to the core's outside by the diameter as it reads, m: L = π(D² − d²)/(4t). */
  #leftM(roll: RollFilter): number {
    return Math.max(0, (Math.PI / 4) * (roll.diameterM ** 2 - this.#rollData.coreM ** 2)) / roll.caliperM
  }

  /** @param isNew - the estimate does not know yet. */
  #rollChanged(tMs: number, isNew: boolean): void {
    const filter = this.#roll.estimator.filter
    const { material, labelM } = this.#rollData
    if (filter !== undefined) learnFromRoll(this.#learned, filter, material, labelM, this.#memory.spindle ?? '')
    if (isNew) this.#roll.change(tMs, this.#rollWebM(tMs))
    this.#cycle.rollChanged()
    this.#signals.clearReadyByHand()
    this.#memory.rollChanged()
    this.#assessment = undefined
  }

  #missed(cycle: Cycle, now: SignalsNow): void {
    const ready = cycle.newRollReady ?? now.newRollReady
    const cause = causeOfMissed(ready ?? undefined, now.spliceFault)
    const roll = this.#roll.at(this.#rollWebM(now.tMs))
    if (roll !== undefined) {
      cycle.leftOnRollM = this.#leftM(roll)
      cycle.diameterM ??= roll.diameterM
    }
    const view = missedView(this.config.id, cycle, cause)
    this.#results.splices.push(view)
    this.#memory.noteMissed(view.id, cause, now.tMs)
  }

  #assess(now: SignalsNow): void {
    this.#assessment = assess({
      now,
      config: this.config,
      rollData: this.#rollData,
      roll: this.#roll,
      webM: this.#rollWebM(now.tMs),
      cycle: this.#cycle,
      learned: this.#learned,
      fault: this.#memory.fault,
    })
    const facts = alarmFacts({
      now,
      config: this.config,
      assessment: this.#assessment,
      rollData: this.#rollData,
      roll: this.#roll,
      webM: this.#rollWebM(now.tMs),
      cycle: this.#cycle,
      lost: this.#signals.lost(now.tMs, this.#firstTMs ?? now.tMs),
      startedTMs: this.#firstTMs ?? now.tMs,
      memory: this.#memory,
    })
    this.#results.alarms.push(...this.#alarms.evaluate(facts))
  }

  /** Results since the last call, in order. */
  drain(): PipelineResults {
    const results = this.#results
    this.#results = { splices: [], alarms: [], alarmViews: [] }
    return results
  }

  /** Records as they stand when no more samples come. */
  finish(): SpliceView[] {
    const tMs = this.#lastTMs ?? 0
    return this.#open.finish(tMs, { webM: this.#web.atM(tMs), pathLengthM: this.config.splicer.pathLengthM })
  }

  /** The forecast as it stands, stamped with `tMs`. */
  forecast(tMs: number): ForecastRow {
    if (this.#now !== undefined && (this.#assessment === undefined || this.#assessment.tMs !== this.#now.tMs)) {
      this.#assess(this.#now)
    }
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
      hasReadySignal: this.#signals.has('new_roll_ready'),
      lost: this.#signals.lost(tMs, this.#firstTMs ?? tMs),
      alarms: this.#alarms.standing(),
      fault: faultAt(this.#memory, tMs),
    })
  }

  /** What is no estimate and still holds after a fault: what the tags said last, and which alarms were told of. */
  salvage(): unknown {
    return { signals: this.#signals.snapshot(), alarms: this.#alarms.snapshot() } satisfies Salvage
  }

  adopt(salvage: unknown): void {
    const { signals, alarms } = salvage as Salvage
    this.#signals.restore(signals)
    this.#alarms.restore(alarms)
  }

  /** This pipeline failed and goes on from a snapshot: it knows nothing until the next step, and says why for a while. */
  failed(reason: string, tMs: number): void {
    this.#memory.fault = { reason, tMs }
    this.#now = undefined
    this.#assessment = undefined
    this.#results.alarms.push(...this.#alarms.evaluate(faultFacts(this.config, this.#rollData, reason, tMs)))
  }

  /** Everything needed to go on later, as plain data. */
  snapshot(): unknown {
    return {
      version: SNAPSHOT_VERSION,
      signals: this.#signals.snapshot(),
      cycle: this.#cycle.snapshot(),
      web: this.#web.snapshot(),
      roll: this.#roll.snapshot(),
      open: this.#open.snapshot(),
      alarms: this.#alarms.snapshot(),
      learned: structuredClone(this.#learned),
      storedM: this.#storedM ?? null,
      assessment: this.#assessment ?? null,
      memory: this.#memory.snapshot(),
      firstTMs: this.#firstTMs ?? null,
      lastTMs: this.#lastTMs ?? null,
    }
  }

  restore(state: unknown): void {
    const s = state as PipelineState
    if (s.version !== SNAPSHOT_VERSION) throw new Error(`it has version ${s.version}, not ${SNAPSHOT_VERSION}`)
    this.#signals.restore(s.signals)
    this.#cycle.restore(s.cycle)
    this.#web.restore(s.web)
    this.#roll.restore(s.roll)
    this.#open.restore(s.open)
    const current = this.#cycle.current
    if (current !== undefined) this.#open.adopt(current)
    this.#alarms.restore(s.alarms)
    this.#learned = { ...learnedNothing(), ...structuredClone(s.learned) }
    this.#storedM = s.storedM ?? undefined
    this.#assessment = s.assessment ?? undefined
    this.#memory = newFactMemory(s.memory)
    this.#firstTMs = s.firstTMs ?? undefined
    this.#lastTMs = s.lastTMs ?? undefined
    this.#isRestored = true
  }
}

interface Salvage {
  signals: Parameters<UnwindSignals['restore']>[0]
  alarms: Parameters<AlarmBoard<AlarmFacts>['restore']>[0]
}

interface PipelineState {
  version: number
  signals: Parameters<UnwindSignals['restore']>[0]
  cycle: unknown
  web: Parameters<WebLength['restore']>[0]
  roll: Parameters<RunningRoll['restore']>[0]
  open: unknown
  alarms: Parameters<AlarmBoard<AlarmFacts>['restore']>[0]
  learned: LearnedSplicer
  storedM: number | null
  assessment: Assessment | null
  memory: Parameters<typeof newFactMemory>[0]
  firstTMs: number | null
  lastTMs: number | null
}
