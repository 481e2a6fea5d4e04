/**
 * Composition root: builds everything from a frozen config, starts it in order, stops it in reverse.
 *
 * sources → unwinds (one pipeline each) → history and database → api
 */
import { join } from 'node:path'
import { type AlarmBoardSnapshot, createAlarmBoard } from './alarms/board.ts'
import { SITE_ALARMS, type SiteFacts } from './alarms/catalogue.ts'
import { enterAlarm } from './alarms/enter.ts'
import type { HealthView, SpliceView } from './api/messages.ts'
import { ChangeLog } from './change-log.ts'
import type { Clock } from './clock.ts'
import type { AlarmRow } from './columns.ts'
import { diffConfig } from './config/apply.ts'
import { type Config, type DatabaseConfig, OPERATOR_SOURCE } from './config/config.ts'
import { LivePort } from './daemon-port.ts'
import { enterCommand } from './enter-command.ts'
import { LastwrapError, reasonOf } from './errors.ts'
import { healthView } from './health.ts'
import { lockData } from './history/data-lock.ts'
import { History } from './history/history.ts'
import { closeLeftOpen } from './history/left-open.ts'
import { SnapshotDesk } from './history/snapshot-desk.ts'
import { openStore, type StoreOptions } from './history/sqlite-store.ts'
import type { HistoryStore } from './history/store.ts'
import type { OpenTrace } from './history/trace-recorder.ts'
import type { JointEventRow } from './joint-columns.ts'
import { siteMessages } from './languages.ts'
import { LiveSources } from './live-sources.ts'
import type { Log } from './log.ts'
import { DatabaseOutput } from './outputs/database-output.ts'
import { ASSESS_MS, STEP_MS } from './pipeline.ts'
import type { Sample } from './sample.ts'
import { instanceId } from './security/instance-id.ts'
import { readSecret } from './security/secrets.ts'
import { signalsView } from './signals-view.ts'
import { OperatorSource } from './sources/operator.ts'
import { readRollLabel } from './sources/roll-label.ts'
import { TagRates } from './tag-rates.ts'
import { Unwinds } from './unwinds.ts'
import { WebAccess } from './web-access.ts'

export interface DaemonOptions {
  config: Config
  dataDir: string
  clock: Clock
  log: Log
  version: string
  isDemo: boolean
}

export interface Daemon {
  /** Address of the dashboard. */
  readonly url: string
  /** Where the first engineer's account is made, once; undefined where there is one. */
  readonly setUpUrl: string | undefined
  /** Applies a changed config to what it changes; says what needs a restart. */
  apply(config: Config): Promise<void>
  stop(): Promise<void>
}

const SNAPSHOT_EVERY_MS = 5000
const HEALTH_EVERY_MS = 5000
const PRUNE_EVERY_MS = 3_600_000
/** A process that slept catches up so many steps; what lies before is a gap. */
const MOST_CATCH_UP = 50

export async function startDaemon(options: DaemonOptions): Promise<Daemon> {
  const daemon = new RunningDaemon(options)
  try {
    await daemon.start()
    return daemon
  } catch (thrown) {
    await daemon.stop()
    throw thrown
  }
}

class RunningDaemon implements Daemon {
  url = ''
  setUpUrl: string | undefined
  #config: Config
  readonly #options: DaemonOptions
  /** What was started, newest last: stopped in reverse. */
  readonly #stops: (() => void | Promise<void>)[] = []
  readonly #siteAlarms
  #store!: HistoryStore
  #database: DatabaseOutput | undefined
  #snapshots!: SnapshotDesk
  #history!: History
  #unwinds!: Unwinds
  #sources!: LiveSources
  #operator!: OperatorSource
  #port!: LivePort
  #access!: WebAccess
  #lastStepMs = 0
  #startedMs = 0
  /** A splice was recognised or revised in this step: a kill right after it must find it known. */
  #isNews = false
  /** One config after another. */
  #applying: Promise<void> = Promise.resolve()
  readonly #changes: ChangeLog
  readonly #rates = new TagRates((source) => this.#config.sources[source])

  constructor(options: DaemonOptions) {
    this.#options = options
    this.#config = options.config
    this.#changes = new ChangeLog(options.log, () => options.clock.nowMs())
    this.#siteAlarms = createAlarmBoard<SiteFacts>({
      unwind: '',
      definitions: SITE_ALARMS,
      messages: siteMessages(options.config.site.language),
      onChange: (view) => this.#history.alarmView(view),
    })
  }

  async start(): Promise<void> {
    const { clock, dataDir, log } = this.#options
    this.#startedMs = clock.nowMs()
    this.#stops.push(lockData(dataDir))
    await this.#openHistory(dataDir)
    this.#unwinds = new Unwinds(this.#config, siteMessages(this.#config.site.language), {
      splice: (splice) => this.#splice(splice),
      alarm: (row) => this.#alarm(row),
      alarmView: (view) => this.#history.alarmView(view),
      log: (entry) => this.#store.putLog(entry),
      joint: (joint) => this.#history.joint(joint),
      jointEvent: (row) => this.#jointEvent(row),
      countDifference: (difference) => this.#history.countDifference(difference),
      signal: (unwind, signal, tMs, value) => this.#history.signal(unwind, signal, tMs, value),
      ignored: (unwind, signal, sample) => this.#changes.ignored(unwind, signal, sample),
      fault: (unwind, reason) =>
        log.error({ unwind }, `the calculation of ${unwind} failed and was restarted: ${reason}`),
    })
    this.#recall()
    await this.#serve()
    await this.#connect(dataDir)
    this.#stops.push(clock.every(STEP_MS, () => this.#tick()))
  }

  async #openHistory(dataDir: string): Promise<void> {
    const { clock, log } = this.#options
    const { history, database, site } = this.#config
    this.#store = openHistoryIn(dataDir, { clock, keep: history })
    this.#stops.push(() => this.#store.close())
    for (const notice of this.#store.notices()) log.warn({}, notice)
    this.#stops.push(clock.every(PRUNE_EVERY_MS, () => this.#store.prune(clock.nowMs())))
    if (database !== undefined) {
      const secrets = await databaseSecrets(database)
      const output = new DatabaseOutput({ site: site.name, config: database, secrets, store: this.#store, clock })
      this.#database = output
      output.start()
      this.#stops.push(() => output.stop())
    }
    this.#history = new History(this.#store, this.#database)
    this.#snapshots = new SnapshotDesk(this.#store)
  }

  /** What was known before the last stop: within a second or two a restarted monitor knows it again. */
  #recall(): void {
    for (const id of this.#unwinds.ids) this.#recallUnwind(id)
    closeLeftOpen(this.#store, this.#unwinds, (splice) => this.#database?.splice(splice))
    this.#recallPart('site', (data) => this.#siteAlarms.restore(data as AlarmBoardSnapshot))
    if (!this.#options.isDemo)
      this.#recallPart('traces', (data) => this.#history.restore(data as { unwind: string; traces: OpenTrace[] }[]))
    this.#stops.push(() => this.#remember())
  }

  #recallUnwind(id: string): void {
    // The demo's plant begins anew with every start.
    const recalled = (data: unknown): void => this.#unwinds.restore(id, data, this.#options.isDemo)
    this.#recallPart(`unwind:${id}`, recalled, () => this.#snapshots.of(id))
  }

  /** A snapshot that can't be read costs what it held, never the start. */
  #recallPart(key: string, restore: (data: unknown) => void, of = () => this.#store.snapshot(key)?.data): void {
    try {
      const data = of()
      if (data !== undefined) restore(data)
    } catch (thrown) {
      this.#options.log.warn({}, `what was known of ${key} can't be restored (${reasonOf(thrown)}): it starts anew`)
    }
  }

  #remember(): void {
    const tMs = this.#options.clock.nowMs()
    for (const { unwind, data } of this.#unwinds.snapshots()) this.#snapshots.put(unwind, tMs, data)
    this.#store.putSnapshot('site', tMs, this.#siteAlarms.snapshot())
    this.#store.putSnapshot('traces', tMs, this.#history.snapshot())
    this.#history.settle()
    if (this.#isNews) this.#store.flush()
    this.#isNews = false
  }

  async #serve(): Promise<void> {
    const { clock, log, version } = this.#options
    this.#port = new LivePort({
      store: this.#store,
      health: () => this.#health(),
      views: () => this.#unwinds.views(this.#nowMs()),
      consistency: (unwind) =>
        this.#unwinds.consistency(unwind, this.#lastStepMs === 0 ? clock.nowMs() : this.#lastStepMs),
      advice: (unwind) => this.#unwinds.advise(unwind, this.#nowMs(), (advisor) => advisor.view(this.#nowMs())),
      whatIf: (unwind, speed) =>
        this.#unwinds.advise(unwind, this.#nowMs(), (advisor) => advisor.whatIf(this.#nowMs(), speed / 60)),
      lines: () => this.#unwinds.lines(this.#nowMs()),
      trends: (unwind) => this.#unwinds.trends(unwind, this.#nowMs()),
      config: () => this.#config,
      nowMs: () => this.#nowMs(),
      alarmsAside: () => this.#unwinds.alarmsAside(this.#nowMs()),
      entries: (unwind) => this.#unwinds.entries(unwind, this.#nowMs()),
      signals: () =>
        signalsView({
          config: this.#config,
          nowMs: clock.nowMs(),
          startedMs: this.#startedMs,
          sources: this.#sources?.health() ?? [],
          readings: (unwind) => this.#unwinds.readings(unwind, this.#nowMs()),
          rates: this.#rates,
        }),
      readLabel: (code) => readRollLabel(code, this.#config.site.rollLabel),
      messages: () => siteMessages(this.#config.site.language),
      siteAlarms: () => this.#siteAlarms.standing(),
      siteAlarmsAside: () => this.#siteAlarms.aside(),
      enter: (command) => enterCommand(this.#operator, command),
      reviewed: (splice) => this.#database?.splice(splice),
    })
    this.#access = new WebAccess({ config: this.#config, dataDir: this.#options.dataDir, clock, log, version })
    this.#stops.push(() => this.#access.stop())
    const { url, setUpUrl } = await this.#access.serve(this.#port)
    this.url = url
    this.setUpUrl = setUpUrl
  }

  /** Of the newest step. */
  #nowMs(): number {
    return this.#lastStepMs === 0 ? this.#options.clock.nowMs() : this.#lastStepMs
  }

  async #connect(dataDir: string): Promise<void> {
    const { clock, log } = this.#options
    const listener = {
      sample: (sample: Sample) => this.#sample(sample),
      alive: (source: string, tMs: number) => this.#unwinds.alive(source, tMs),
      // The source logs its changes itself.
      state: () => this.#port.publish('health', this.#health()),
    }
    this.#operator = new OperatorSource(clock)
    await this.#operator.start(listener)
    this.#stops.push(() => this.#operator.stop())
    this.#sources = new LiveSources(
      {
        clock,
        certificatesDir: join(dataDir, 'certificates', 'opcua'),
        readSecret,
        instanceId: await instanceId(dataDir),
        log: {
          debug: (message) => log.debug({}, message),
          info: (message) => log.info({}, message),
          warn: (message) => log.warn({}, message),
        },
      },
      listener,
    )
    // Registered before they start: a stop in between still closes the sessions that are open.
    this.#stops.push(() => this.#sources.stop())
    await this.#sources.start(this.#config)
  }

  #tick(): void {
    const nowMs = Math.floor(this.#options.clock.nowMs() / STEP_MS) * STEP_MS
    // The first step is now: what lies before it nobody saw.
    const isFirst = this.#lastStepMs === 0
    const from = isFirst ? nowMs : Math.max(this.#lastStepMs + STEP_MS, nowMs - MOST_CATCH_UP * STEP_MS)
    for (let tMs = from; tMs <= nowMs; tMs += STEP_MS) this.#step(tMs)
  }

  #step(tMs: number): void {
    this.#lastStepMs = tMs
    this.#unwinds.step(tMs)
    if (tMs % ASSESS_MS === 0) {
      this.#history.settle()
      this.#port.publish('unwinds', { time: new Date(tMs).toISOString(), unwinds: this.#unwinds.views(tMs) })
    }
    if (tMs % 1000 === 0) {
      this.#history.forecasts(() => this.#unwinds.storedForecasts(tMs), tMs)
      for (const row of this.#siteAlarms.evaluate({ tMs, storeTrouble: this.#storeTrouble() })) this.#alarm(row)
    }
    if (tMs % SNAPSHOT_EVERY_MS === 0 || this.#isNews) this.#remember()
    if (tMs % HEALTH_EVERY_MS === 0) {
      this.#changes.trouble('history', this.#storeTrouble())
      this.#changes.trouble('database', this.#database?.health().trouble)
      this.#port.publish('health', this.#health())
    }
  }

  /** Kept durably first, told afterwards. */
  #splice(splice: SpliceView): void {
    this.#isNews = true
    this.#history.splice(splice)
    this.#changes.splice(splice)
    this.#port.publish('splice', this.#store.splice(splice.id) ?? splice)
  }

  #alarm(row: AlarmRow): void {
    this.#history.alarm(row)
    this.#port.publish('alarm', row)
  }

  #jointEvent(row: JointEventRow): void {
    this.#isNews = true
    this.#history.jointEvent(row)
    this.#port.publish('joint', row)
  }

  #sample(sample: Sample): void {
    this.#rates.report(sample)
    this.#unwinds.accept(sample)
    if (sample.source !== OPERATOR_SOURCE) return
    // What a person did is not asked for again after a kill.
    this.#isNews = true
    this.#history.entered(sample)
    // The site's own alarms belong to no pipeline.
    for (const row of enterAlarm(this.#siteAlarms, '', sample) ?? []) this.#alarm(row)
  }

  #storeTrouble(): string | undefined {
    return this.#store.trouble() ?? this.#access.store.trouble()
  }

  #health(): HealthView {
    const { clock, version, isDemo } = this.#options
    return healthView({
      config: this.#config,
      nowMs: clock.nowMs(),
      startedMs: this.#startedMs,
      version,
      isDemo,
      sources: this.#sources?.health() ?? [],
      storeTrouble: this.#storeTrouble(),
      database: this.#database?.health(),
    })
  }

  /** Two changes in short order must not stop and start the same source at once. */
  apply(config: Config): Promise<void> {
    const applied = this.#applying.then(() => this.#apply(config))
    this.#applying = applied.catch(() => undefined)
    return applied
  }

  async #apply(config: Config): Promise<void> {
    const { log } = this.#options
    await this.#access.renewCertificate()
    const diff = diffConfig(this.#config, config)
    this.#config = config
    if (diff.isEmpty) return
    this.#unwinds.apply(config, diff.unwinds.changed)
    // One that comes back knows what it knew.
    for (const id of diff.unwinds.added) this.#recallUnwind(id)
    await this.#sources.apply(config, diff.sources)
    const { sources, unwinds } = diff
    const list = (changes: { added: string[]; removed: string[]; changed: string[] }): string =>
      [...changes.added, ...changes.changed, ...changes.removed].join(', ') || 'none'
    const what = `sources ${list(sources)}; unwinds ${list(unwinds)}`
    log.info({}, `config applied: ${what}`)
    this.#access.configApplied(what)
    if (diff.restart.length > 0) {
      log.warn({}, `the changed sections ${diff.restart.join(', ')} take effect when the monitor is started anew`)
    }
  }

  /** Newest first: what came in is drained before what it is drained into is closed. */
  async stop(): Promise<void> {
    await this.#applying
    for (const stop of this.#stops.splice(0).reverse()) {
      try {
        await stop()
      } catch (thrown) {
        this.#options.log.error({}, `stopping: ${reasonOf(thrown)}`)
      }
    }
  }
}

/** At the start a store that can't be had is a folder that was named wrongly. */
function openHistoryIn(dataDir: string, options: StoreOptions): HistoryStore {
  try {
    return openStore(join(dataDir, 'history.sqlite'), options)
  } catch (thrown) {
    throw new LastwrapError('wrong_input', reasonOf(thrown), { cause: thrown })
  }
}

async function databaseSecrets(database: DatabaseConfig): Promise<{ token?: string; password?: string }> {
  return {
    ...(database.token !== undefined && { token: await readSecret(database.token) }),
    ...(database.user?.password !== undefined && { password: await readSecret(database.user.password) }),
  }
}
