/** Why a splice went as it did, from the history: what it is compared with, in words, and the band behind its trace. */
import { setImmediate } from 'node:timers/promises'
import type { Reason, SpliceView, WhyView } from '../api/messages.ts'
import { median } from '../estimators/statistics.ts'
import type { JointView } from '../joint-columns.ts'
import type { Messages } from '../messages/message.ts'
import type { Words } from '../messages/render.ts'
import { comparable, courseFindings, departureFindings, departures, LEAST_COMPARED } from '../outcome/why.ts'
import { type PlannedCycle, plannedFindings, saidFindings } from '../outcome/why-said.ts'
import { sideOf } from '../splice-details.ts'
import { verdictOf } from '../splice-review.ts'
import { type AlignedTrace, goodBand } from './good-band.ts'
import type { Store } from './store.ts'

/** So many earlier splices are looked through for comparable ones. */
const MOST_LOOKED_AT = 200

export interface Explainer {
  store: Pick<Store, 'splices' | 'tracePoints' | 'kept'>
  messages: Messages
  unitOf: (signal: string) => string
  /** Only yes or no. */
  isState: (signal: string) => boolean
  /** What the config says of the splicer's cycle; undefined where it has no stop of its own. */
  planned?: PlannedCycle | undefined
}

/** Why, in words alone: from records, without a trace. */
export function reasonFor(splice: SpliceView, explainer: Pick<Explainer, 'store' | 'messages' | 'planned'>): Reason {
  const { text, words } = compare(splice, explainer).view
  return { text, words }
}

/** Reads one trace after another and lets the monitor go on in between: it steps ten times a second. */
export async function explain(splice: SpliceView, explainer: Explainer): Promise<WhyView> {
  const { good, view } = compare(splice, explainer)
  const isEnough = good.length >= LEAST_COMPARED
  return { ...view, band: isEnough ? await bandView(splice, good, explainer) : null }
}

function compare(
  splice: SpliceView,
  { store, messages, planned }: Pick<Explainer, 'store' | 'messages' | 'planned'>,
): { good: SpliceView[]; view: Omit<WhyView, 'band'> } {
  if (splice.review?.by_hand === true)
    return { good: [], view: viewOf(splice, [], [], [{ key: 'why.by_hand' }], messages) }
  const toTMs = Date.parse(splice.started) - 1
  const before = store.splices({ unwind: splice.unwind, outcome: 'good', toTMs, limit: MOST_LOOKED_AT })
  const good = comparable(splice, before)
  const isEnough = good.length >= LEAST_COMPARED
  const found = isEnough ? departures(splice, good) : []
  const course = courseFindings(splice)
  const words = [...departureFindings(found), ...course, ...breakPlace(splice, store)]
  // Of a splice that never began nothing is there to compare.
  if (splice.outcome !== 'missed') {
    const count = { count: good.length }
    if (!isEnough) {
      const byConfig = planned === undefined ? [] : plannedFindings(splice, planned)
      words.unshift(...byConfig)
      if (words.length === 0 && splice.outcome === 'good') words.push({ key: 'why.clean' })
      words.push({ key: 'why.too_few', parameters: count })
    } else if (found.length === 0) {
      words.push({ key: `why.nothing${course.length === 0 ? '' : '_else'}`, parameters: count })
    }
  }
  words.push(...saidFindings(splice))
  return { good, view: viewOf(splice, good, found, words, messages) }
}

function viewOf(
  splice: SpliceView,
  good: readonly SpliceView[],
  departures: WhyView['departures'],
  words: Words[],
  messages: Messages,
): Omit<WhyView, 'band'> {
  const speeds = good.map(({ speed }) => speed).filter((speed) => speed !== null)
  return {
    id: splice.id,
    compared: good.map(({ id }) => id),
    side: sideOf(splice),
    speed_low: speeds.length === 0 ? null : Math.min(...speeds),
    speed_high: speeds.length === 0 ? null : Math.max(...speeds),
    text: words.map(({ key, parameters }) => messages(key, parameters)).join(' '),
    words,
    departures,
  }
}

/** A joint is made within this of its splice's start, ms. */
const MADE_WITHIN_MS = 600_000
const MOST_JOINTS = 50

/** Of a failure by a web break, whoever says so: that the web parted elsewhere than at this joint, where its way is known. */
function breakPlace(splice: SpliceView, store: Pick<Store, 'kept'>): Words[] {
  // What was seen stays seen, whatever people call it afterwards.
  const isBreak = [splice, verdictOf(splice)].some((of) => of.outcome === 'failed' && of.cause === 'web_break')
  if (!isBreak) return []
  const fromTMs = Date.parse(splice.started)
  const joints = store.kept('joint', {
    unwind: splice.unwind,
    fromTMs,
    toTMs: fromTMs + MADE_WITHIN_MS,
    limit: MOST_JOINTS,
  })
  const kept = joints.find(({ id }) => id === splice.id)
  if (kept === undefined) return []
  return (JSON.parse(kept.view) as JointView).broke?.at_joint === false ? [{ key: 'why.parted_elsewhere' }] : []
}

async function bandView(
  splice: SpliceView,
  good: readonly SpliceView[],
  { store, unitOf, isState }: Pick<Explainer, 'store' | 'unitOf' | 'isState'>,
): Promise<WhyView['band']> {
  const alignTMs = alignment(splice, good)
  if (alignTMs === undefined) return null
  const traces: AlignedTrace[] = []
  for (const { id, transfer, has_trace } of good) {
    if (transfer === null || !has_trace) continue
    traces.push({ points: store.tracePoints(id), transferTMs: Date.parse(transfer) })
    await setImmediate()
  }
  const band = goodBand(traces, isState)
  if (band === undefined) return null
  return {
    splices: traces.length,
    time: band.offsetsMs.map((offset) => alignTMs + offset),
    columns: band.columns.map((column) => ({ ...column, unit: unitOf(column.signal) })),
  }
}

/** The transfer; where there was none, when it usually comes after the start. A splice that never began has no place for it. */
function alignment(splice: SpliceView, good: readonly SpliceView[]): number | undefined {
  if (splice.transfer !== null) return Date.parse(splice.transfer)
  if (splice.outcome === 'missed') return undefined
  const usualMs = median(
    good.flatMap(({ started, transfer }) => (transfer === null ? [] : Date.parse(transfer) - Date.parse(started))),
  )
  return usualMs === undefined ? undefined : Date.parse(splice.started) + usualMs
}
