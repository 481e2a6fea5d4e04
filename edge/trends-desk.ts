/** Trends, services, maintenance's list and reports as the API sees them: from the store's records and the live charts. */
import { setImmediate } from 'node:timers/promises'
import type { AlarmView, SpliceFilter, SpliceView } from './api/messages.ts'
import type { Config, UnwindConfig } from './config/config.ts'
import type { HistoryStore } from './history/store.ts'
import type { JointRegister, JointView } from './joint-columns.ts'
import type { Messages } from './messages/message.ts'
import type { Words } from './messages/render.ts'
import { bufferDueM } from './pipeline-trends.ts'
import { sideOf } from './splice-details.ts'
import type {
  Grouping,
  LogEntry,
  MaintenanceLine,
  ReportView,
  ServiceView,
  TrendsPort,
  TrendsView,
  TrendView,
} from './trend-views.ts'
import { Counts } from './trends/counts.ts'
import { gapsOf } from './trends/gaps.ts'
import { registerShare } from './trends/register-share.ts'
import { reviewChanges, reviewCharts } from './trends/review.ts'
import { type ServiceSpan, serviceUse } from './trends/services.ts'
import { FIRST_CALL } from './trends/trend-chart.ts'

/** Records that are read in one go: the daemon steps in between. */
const PAGE = 500
/** A report counts at most so many: a month of thirty busy unwinds. */
const MOST_COUNTED = 60_000
/** Services of an item that are looked back on. */
const MOST_SERVICES = 20
const MOST_LOGGED = 300
/** Joints whose register is counted. */
const MOST_JOINTS = 10_000
/** Classes of the hall's air: wide enough to hold splices, narrow enough to tell a hot day. */
const TEMPERATURE_CLASS = 5
const HUMIDITY_CLASS = 10

export interface DeskParts {
  store: Pick<HistoryStore, 'splices' | 'log' | 'countSplices' | 'gaps' | 'kept'>
  config: () => Config
  messages: () => Messages
  nowMs: () => number
  trends: (unwind: string) => TrendView[] | undefined
  alarms: () => AlarmView[]
}

export class TrendsDesk implements TrendsPort {
  readonly #parts: DeskParts

  constructor(parts: DeskParts) {
    this.#parts = parts
  }

  async trends(unwind: string, splices: number, side?: string): Promise<TrendsView | undefined> {
    const { store, trends, nowMs } = this.#parts
    const config = this.#unwind(unwind)
    const standing = trends(unwind)
    if (config === undefined || standing === undefined) return undefined
    const found: SpliceView[] = []
    for await (const page of this.#pages({ unwind, outcome: 'good' }, splices)) found.push(...page)
    found.reverse()
    const first = found[0]
    const log = store.log({
      unwind,
      ...(first !== undefined && { fromTMs: Date.parse(first.started) }),
      limit: MOST_LOGGED,
    })
    const charts = reviewCharts(found, bufferDueM(config), log, side)
    const joints = first === undefined ? [] : this.#registers(unwind, Date.parse(first.started), nowMs())
    return {
      unwind,
      side: side ?? null,
      sides: sidesOf(found),
      time: new Date(nowMs()).toISOString(),
      splices: found.length,
      needed: FIRST_CALL,
      standing,
      charts,
      log,
      changes: reviewChanges(charts, log),
      register: registerShare(joints),
    }
  }

  services(unwind: string): ServiceView[] | undefined {
    return this.#unwind(unwind)?.service.map((one) => this.#service(unwind, one))
  }

  #service(unwind: string, { item, name, every, hasBatch }: UnwindConfig['service'][number]): ServiceView {
    const { store, nowMs, messages } = this.#parts
    const done = store.log({ unwind, kind: 'service', subject: item, standing: true, limit: MOST_SERVICES })
    const atTMs = done.map(({ time }) => Date.parse(time))
    const spans = atTMs.slice(1).map((fromTMs, i): ServiceSpan => {
      const toTMs = atTMs[i]!
      const middleTMs = (fromTMs + toTMs) / 2
      return {
        early: store.countSplices(unwind, { fromTMs, toTMs: middleTMs }),
        late: store.countSplices(unwind, { fromTMs: middleTMs, toTMs }),
      }
    })
    const measured = store.gaps(unwind, { fromTMs: atTMs.at(-1) ?? 0, toTMs: nowMs() + 1 })
    const gapsIn = (isIn: (tMs: number) => boolean) =>
      gapsOf(measured.filter(({ tMs }) => isIn(tMs)).map(({ mm }) => mm))
    /** Within one of the times between two, in its first or second half. */
    const isInHalf = (tMs: number, isLate: boolean): boolean =>
      atTMs.slice(1).some((fromTMs, i) => {
        const toTMs = atTMs[i]!
        return tMs >= fromTMs && tMs < toTMs && tMs >= (fromTMs + toTMs) / 2 === isLate
      })
    const now = store.countSplices(unwind, { fromTMs: atTMs[0] ?? 0, toTMs: nowMs() + 1 })
    return {
      unwind,
      item,
      name: name ?? ownText(messages(), `service.${item}`) ?? item,
      has_own_name: name !== undefined || ownText(messages(), `service.${item}`) === undefined,
      has_batch: hasBatch,
      last: done[0] ?? null,
      ...serviceUse(spans, now, every),
      gaps: gapsIn((tMs) => tMs >= (atTMs[0] ?? 0)),
      gaps_early: gapsIn((tMs) => isInHalf(tMs, false)),
      gaps_late: gapsIn((tMs) => isInHalf(tMs, true)),
    }
  }

  log(filter: Parameters<TrendsPort['log']>[0]): LogEntry[] {
    return this.#parts.store.log(filter)
  }

  /** What waits for maintenance: trends, services that are due, settings that waste web. */
  maintenance(): MaintenanceLine[] {
    const { config, trends, alarms, messages } = this.#parts
    const say = messages()
    return config().unwinds.flatMap(({ id, name }): MaintenanceLine[] => {
      const line = { unwind: id, name, since: null, trend: null, service: null }
      const drifting = (trends(id) ?? []).map((trend): MaintenanceLine => {
        const { metric, side, usual, newest, unit, splices } = trend
        const parameters = { metric: { key: `trend.${metric}` }, usual: two(usual), newest: two(newest), unit, splices }
        const text =
          side === null ? say('maintenance.trend', parameters) : say('maintenance.trend.side', { ...parameters, side })
        return { ...line, kind: 'trend', since: trend.since, text, trend }
      })
      const due = (this.services(id) ?? [])
        .filter(({ is_due }) => is_due)
        .map((service): MaintenanceLine => {
          const { name: item, splices, limit, last } = service
          const text = say(last === null ? 'maintenance.service.never' : 'maintenance.service', {
            item,
            splices,
            limit: limit!,
          })
          return { ...line, kind: 'service', since: last?.time ?? null, text, service }
        })
      const wasting = alarms()
        .filter(({ unwind, alarm }) => unwind === id && alarm === 'setting_wastes_web')
        .map(
          ({ raised: since, text, words }): MaintenanceLine => ({
            ...line,
            ...{ kind: 'waste', since, text },
            ...(words !== undefined && { words: sentencesOf(words) }),
          }),
        )
      return [...drifting, ...due, ...wasting]
    })
  }

  async report(span: { fromTMs: number; toTMs: number }, unwind: string | undefined): Promise<ReportView> {
    const { store } = this.#parts
    const found: SpliceView[] = []
    for await (const page of this.#pages({ ...(unwind !== undefined && { unwind }), ...span }, MOST_COUNTED + 1)) {
      found.push(...page)
    }
    const counts = new Counts(this.#groupsOf(span))
    for (const splice of found.slice(0, MOST_COUNTED).reverse()) counts.add(splice)
    return {
      from: new Date(span.fromTMs).toISOString(),
      to: new Date(span.toTMs).toISOString(),
      unwind: unwind ?? null,
      ...counts.view(),
      log: store.log({ unwind, ...span, limit: MOST_LOGGED }),
      register: registerShare(this.#registers(unwind, span.fromTMs, span.toTMs)),
      is_whole: found.length <= MOST_COUNTED,
    }
  }

  /** What splices are counted by: never a person. */
  #groupsOf({
    toTMs,
  }: {
    toTMs: number
  }): (splice: SpliceView) => Partial<Record<Grouping, { key: string; unit: string }>> {
    const { config, store } = this.#parts
    const { unwinds, materials } = config()
    const roles = new Map(unwinds.map((unwind) => [unwind.id, airOf(unwind)]))
    const batches = new Map(
      unwinds.map(({ id }) => [
        id,
        store
          .log({ unwind: id, kind: 'service', standing: true, toTMs, limit: MOST_LOGGED })
          .filter(({ note }) => note !== ''),
      ]),
    )
    return (splice) => {
      const { unwind, started, details } = splice
      const side = sideOf(splice)
      const material = details.new_material ?? details.material
      const supplier = material !== null && Object.hasOwn(materials, material) ? materials[material]?.supplier : null
      const batch = batches.get(unwind)?.find(({ time }) => time <= started)
      const groups: [Grouping, string | null | undefined, string?][] = [
        ['unwind', unwind],
        ['side', side === null ? null : `${unwind} ${side}`],
        ['material', material],
        ['supplier', supplier],
        ['tape_batch', batch?.note],
      ]
      for (const { by, name, unit } of roles.get(unwind) ?? []) {
        const value = details.extra[name]
        if (typeof value !== 'number') continue
        const width = by === 'temperature' ? TEMPERATURE_CLASS : HUMIDITY_CLASS
        const low = Math.floor(value / width) * width
        groups.push([by, `${low} … ${low + width}`, unit])
      }
      return Object.fromEntries(
        groups.flatMap(([by, key, unit = '']) => (key == null || key === '' ? [] : [[by, { key, unit }]])),
      )
    }
  }

  /** Register at the joints that were made in a span. */
  #registers(unwind: string | undefined, fromTMs: number, toTMs: number): JointRegister[] {
    const joints = this.#parts.store.kept('joint', { unwind, fromTMs, toTMs, limit: MOST_JOINTS })
    return joints.flatMap(({ view }) => (JSON.parse(view) as JointView).register ?? [])
  }

  /** Newest first, page by page. */
  async *#pages(filter: Omit<SpliceFilter, 'limit'>, most: number): AsyncGenerator<SpliceView[]> {
    let left = most
    let before: SpliceFilter['before']
    while (left > 0) {
      const limit = Math.min(PAGE, left)
      const page = this.#parts.store.splices({ ...filter, ...(before !== undefined && { before }), limit })
      yield page
      left -= page.length
      const last = page.at(-1)
      if (last === undefined || page.length < limit) return
      before = { startedTMs: Date.parse(last.started), id: last.id }
      await setImmediate()
    }
  }

  #unwind(id: string): UnwindConfig | undefined {
    return this.#parts.config().unwinds.find((unwind) => unwind.id === id)
  }
}

const sidesOf = (splices: readonly SpliceView[]): string[] =>
  [...new Set(splices.flatMap((splice) => sideOf(splice) ?? []))].sort()

function airOf({ signals }: UnwindConfig): { by: Grouping; name: string; unit: string }[] {
  return signals.flatMap(({ role, signal, unit = '' }) => {
    if (role !== 'hall_temperature' && role !== 'hall_humidity') return []
    return [{ by: role === 'hall_temperature' ? 'temperature' : 'humidity', name: signal.slice('extra.'.length), unit }]
  })
}

/** Undefined where there is no such text: an item of the site's own. */
function ownText(say: Messages, key: string): string | undefined {
  const text = say(key)
  return text === key ? undefined : text
}

const two = (value: number): string => value.toFixed(2)

/** What is wrong and what to do, as an alarm's text has it. */
const sentencesOf = ({ key, parameters = {} }: Words): Words[] =>
  ['what', 'action'].map((part) => ({ key: `${key}.${part}`, parameters }))
