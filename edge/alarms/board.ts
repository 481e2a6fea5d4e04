/**
 * All alarms of one unwind (or of the site): facts in, alarm events out.
 *
 * Called at every pipeline step, so a step in which nothing happens allocates next to nothing and builds no text.
 * A text is built when its alarm is raised or rises, and anew at most every few seconds while its parameters change.
 */
import type { AlarmView } from '../api/messages.ts'
import type { AlarmEventName, AlarmId, AlarmRow } from '../columns.ts'
import type { Messages } from '../messages/message.ts'
import { isSame, type Parameters } from '../messages/render.ts'
import { copyOf } from '../plain-data.ts'
import {
  type AlarmStanding,
  acknowledgeAlarm,
  isRaised,
  normalAlarm,
  shelveAlarm,
  stepAlarm,
  unshelve,
} from './alarm.ts'
import { type AlarmDefinition, emptyMemory, type Finding, type Measure, type Memory } from './definition.ts'

export interface AlarmBoardOptions<Facts extends BoardFacts> {
  /** The unwind's id; empty for the site's board. */
  unwind: string
  /** `UNWIND_ALARMS` or `SITE_ALARMS`. */
  definitions: readonly AlarmDefinition<Facts>[]
  messages: Messages
  /** Called with an alarm's record whenever it changes, also when it closes: what the history keeps. */
  onChange?: (view: AlarmView) => void
}

/** `isProducing` is undefined for the site's facts, where nothing is suppressed. */
export interface BoardFacts {
  tMs: number
  isProducing?: boolean
}

export interface AlarmBoard<Facts extends BoardFacts> {
  /** Takes in what is known at `facts.tMs`; returns the events of this step, in the catalogue's order. */
  evaluate(facts: Facts): readonly AlarmRow[]
  /** Empty where there is nothing to acknowledge. */
  acknowledge(alarm: AlarmId, person: string, comment: string, tMs: number): readonly AlarmRow[]
  /** Puts an alarm that stands aside for so many seconds; 0 ends it. Empty where there is nothing to do. */
  shelve(alarm: AlarmId, seconds: number, person: string, tMs: number): readonly AlarmRow[]
  /** What stands or is unacknowledged, most serious and then newest first; without what is suppressed or shelved. */
  standing(): AlarmView[]
  /** What would stand, were it not suppressed or shelved. */
  aside(): AlarmView[]
  /** Plain data. */
  snapshot(): AlarmBoardSnapshot
  /** Goes on from a snapshot; alarms that the catalogue no longer has are left out. */
  restore(snapshot: AlarmBoardSnapshot): void
}

export interface AlarmBoardSnapshot {
  tMs: number
  alarms: { id: AlarmId; standing: AlarmStanding; memory: Memory; record: AlarmRecord | undefined }[]
}

/** What is known of one alarm from its raising on, beside its standing. */
export interface AlarmRecord {
  value: number | null
  limit: number | null
  /** Which text, with which parameters, built when (pipeline time). */
  textKey: string
  parameters: Parameters
  textTMs: number
  /** What is wrong, for the wall; what to do; both in full. */
  short: string
  action: string
  text: string
  acknowledgedTMs: number | undefined
  person: string | null
  comment: string | null
  /** Who put it aside last. */
  shelvedBy?: string
  /** What it said when it came, and each time that it said something else, oldest first. */
  told: Told[]
}

interface Told extends Pick<AlarmRecord, 'textKey' | 'parameters' | 'short' | 'text'> {
  tMs: number
  priority: AlarmView['priority']
}

/** More stages than any alarm has: one that flickers must not grow for ever. */
const MOST_TOLD = 12

interface Entry<Facts> {
  definition: AlarmDefinition<Facts>
  standing: AlarmStanding
  memory: Memory
  record: AlarmRecord | undefined
}

const NO_ROWS: readonly AlarmRow[] = Object.freeze([])
/** A number on the wall changes at most this often. */
const TEXT_EVERY_MS = 5000
const FACTORS: Readonly<Record<Measure, number>> = { m: 1, mm: 1e3, um: 1e6, 'm/min': 60, s: 1, none: 1 }
const PRIORITY_ORDER = { high: 0, medium: 1, low: 2 } as const

export function createAlarmBoard<Facts extends BoardFacts>(options: AlarmBoardOptions<Facts>): AlarmBoard<Facts> {
  const { unwind, messages, onChange } = options
  let entries = options.definitions.map(newEntry)
  let lastTMs = 0

  return {
    evaluate(facts) {
      // A step back in time would turn delays negative; it counts as no time passed.
      const tMs = (lastTMs = Math.max(lastTMs, facts.tMs))
      let rows: AlarmRow[] | undefined
      for (const entry of entries) {
        const happened = step(entry, facts, tMs)
        if (happened !== undefined) rows = rows === undefined ? happened : [...rows, ...happened]
      }
      return rows ?? NO_ROWS
    },

    acknowledge(alarm, person, comment, tMs) {
      const entry = entries.find(({ definition }) => definition.id === alarm)
      if (entry?.record === undefined) return NO_ROWS
      const events = acknowledgeAlarm(entry.standing)
      if (events.length === 0) {
        // Somebody was first: what the second has to say is kept all the same.
        if (entry.record.acknowledgedTMs === undefined || comment === '') return NO_ROWS
        entry.record.comment = [entry.record.comment, `${person}: ${comment}`]
          .filter((text) => text !== null)
          .join('; ')
        return publish(entry, entry.record, events, tMs)
      }
      entry.record.acknowledgedTMs = tMs
      entry.record.person = person
      entry.record.comment = comment === '' ? null : comment
      return publish(entry, entry.record, events, tMs)
    },

    shelve(alarm, seconds, person, tMs) {
      const entry = entries.find(({ definition }) => definition.id === alarm)
      if (entry?.record === undefined) return NO_ROWS
      const { standing, record } = entry
      if (seconds > 0) {
        const events = shelveAlarm(standing, tMs + 1000 * seconds)
        if (events.length === 0) return NO_ROWS
        record.shelvedBy = person
        return publish(entry, record, events, tMs)
      }
      // The condition is judged at the next step, and until then it stands.
      const events = unshelve(standing, standing.priority, tMs)
      forgetAcknowledgement(record)
      return events.length === 0 ? NO_ROWS : publish(entry, record, events, tMs)
    },

    standing: () => views((entry) => !isAside(entry.standing)),

    aside: () => views((entry) => isAside(entry.standing)),

    snapshot() {
      return {
        tMs: lastTMs,
        alarms: entries.map(({ definition, standing, memory, record }) =>
          copyOf({ id: definition.id, standing, memory, record }),
        ),
      }
    },

    restore(snapshot) {
      lastTMs = snapshot.tMs
      entries = options.definitions.map((definition) => {
        const kept = snapshot.alarms.find(({ id }) => id === definition.id)
        if (kept === undefined) return newEntry(definition)
        // Fields that JSON left out because they were undefined come back from the fresh objects.
        const { standing, memory, record } = copyOf(kept)
        return {
          definition,
          standing: { ...normalAlarm(), ...standing },
          memory: { ...emptyMemory(), ...memory },
          record,
        }
      })
    },
  }

  function views(isWanted: (entry: Entry<Facts>) => boolean): AlarmView[] {
    return entries
      .flatMap((entry) =>
        entry.record === undefined || entry.standing.state === 'normal' || !isWanted(entry)
          ? []
          : [viewOf(entry, entry.record)],
      )
      .sort(
        (one, other) =>
          PRIORITY_ORDER[one.priority] - PRIORITY_ORDER[other.priority] || other.raised.localeCompare(one.raised),
      )
  }

  function newEntry(definition: AlarmDefinition<Facts>): Entry<Facts> {
    return { definition, standing: normalAlarm(), memory: emptyMemory(), record: undefined }
  }

  /** One alarm, one step; undefined where nothing happened, as nearly always. */
  function step(entry: Entry<Facts>, facts: Facts, tMs: number): AlarmRow[] | undefined {
    const { definition, standing, memory } = entry
    memory.isRaised = isRaised(standing) && !isAside(standing)
    const isSuppressed = definition.onlyProducing && facts.isProducing === false
    const finding = isSuppressed ? undefined : definition.condition(facts, memory)
    // Raised anew before anybody acknowledged the last time: that record closes and a new one opens.
    const superseded =
      finding !== undefined && entry.record !== undefined && standing.state === 'returned_unacknowledged'
        ? viewOf(entry, entry.record)
        : undefined
    const events = stepAlarm(standing, isSuppressed ? 'suppressed' : finding?.priority, definition, tMs)
    if (finding !== undefined) {
      if (events.includes('raised')) {
        if (superseded !== undefined) onChange?.({ ...superseded, state: 'normal' })
        // Risen, it is the same alarm: what it said before stays with it.
        const before = standing.raisedTMs !== tMs ? entry.record?.told : undefined
        entry.record = newRecord(finding, definition.measure, tMs)
        entry.record.told = [...(before ?? []), toldBy(entry.record, standing.priority, tMs)]
      } else if (entry.record !== undefined && isRaised(standing)) refresh(entry, entry.record, finding, tMs)
    }
    if (events.length === 0 || entry.record === undefined) return undefined
    if (events.includes('unsuppressed') || events.includes('unshelved')) forgetAcknowledgement(entry.record)
    return publish(entry, entry.record, events, tMs)
  }

  function publish(
    entry: Entry<Facts>,
    record: AlarmRecord,
    events: readonly AlarmEventName[],
    tMs: number,
  ): AlarmRow[] {
    onChange?.(viewOf(entry, record))
    return events.map((event) => ({
      time: isoTime(tMs),
      unwind,
      alarm: entry.definition.id,
      event,
      priority: entry.standing.priority,
      value: record.value,
      limit: record.limit,
      text: record.text,
    }))
  }

  function newRecord(finding: Finding, measure: Measure, tMs: number): AlarmRecord {
    return {
      value: inContractUnit(finding.value, measure),
      limit: inContractUnit(finding.limit, measure),
      ...textsOf(finding, tMs),
      acknowledgedTMs: undefined,
      person: null,
      comment: null,
      told: [],
    }
  }

  /** Another text (a further stage) shows at once, another number in the same text after a while. */
  function refresh(entry: Entry<Facts>, record: AlarmRecord, finding: Finding, tMs: number): void {
    const isOtherText = finding.text !== record.textKey
    if (!isOtherText && (tMs - record.textTMs < TEXT_EVERY_MS || isSame(finding.parameters, record.parameters))) return
    Object.assign(record, textsOf(finding, tMs))
    record.value = inContractUnit(finding.value, entry.definition.measure)
    record.limit = inContractUnit(finding.limit, entry.definition.measure)
    if (!isOtherText) return
    record.told = [...record.told, toldBy(record, entry.standing.priority, tMs)].slice(-MOST_TOLD)
    onChange?.(viewOf(entry, record))
  }

  function textsOf(finding: Finding, tMs: number) {
    const key = `alarm.${finding.text}`
    const what = messages(`${key}.what`, finding.parameters)
    const action = messages(`${key}.action`, finding.parameters)
    return {
      textKey: finding.text,
      parameters: finding.parameters,
      textTMs: tMs,
      short: messages(`${key}.short`, finding.parameters),
      action,
      text: `${what} ${action}`,
    }
  }

  function viewOf({ definition, standing }: Entry<Facts>, record: AlarmRecord): AlarmView {
    const raisedTMs = standing.raisedTMs ?? 0
    return {
      id: `${unwind}-${definition.id}-${raisedTMs}`,
      unwind,
      alarm: definition.id,
      priority: standing.priority,
      state: standing.state,
      raised: isoTime(raisedTMs),
      cleared: standing.clearedTMs === undefined ? null : isoTime(standing.clearedTMs),
      acknowledged: record.acknowledgedTMs === undefined ? null : isoTime(record.acknowledgedTMs),
      acknowledged_by: record.person,
      comment: record.comment,
      suppressed: standing.isSuppressed,
      shelved_until: standing.shelvedUntilTMs === undefined ? null : isoTime(standing.shelvedUntilTMs),
      shelved_by: standing.shelvedUntilTMs === undefined ? null : (record.shelvedBy ?? null),
      value: record.value,
      limit: record.limit,
      text: record.text,
      words: { key: `alarm.${record.textKey}`, parameters: record.parameters },
      short: record.short,
      action: record.action,
      ...toldView(record),
    }
  }
}

function toldBy({ textKey, parameters, short, text }: AlarmRecord, priority: AlarmView['priority'], tMs: number): Told {
  return { textKey, parameters, short, text, priority, tMs }
}

/** Only where it once said something else than now. */
function toldView({ told, text }: AlarmRecord): Pick<AlarmView, 'told'> {
  if (told.every((one) => one.text === text)) return {}
  return {
    told: told.map(({ tMs, priority, textKey, parameters, short, text: said }) => ({
      ...{ time: isoTime(tMs), priority, text: said, short },
      words: { key: `alarm.${textKey}`, parameters },
    })),
  }
}

const isAside = ({ isSuppressed, shelvedUntilTMs }: AlarmStanding): boolean =>
  isSuppressed || shelvedUntilTMs !== undefined

function forgetAcknowledgement(record: AlarmRecord): void {
  record.acknowledgedTMs = undefined
  record.person = null
  record.comment = null
}

const isoTime = (tMs: number): string => new Date(tMs).toISOString()

/** Three decimals: a millimetre of web, a micrometre of diameter. Never -0, which JSON and CSV write differently. */
function inContractUnit(si: number | undefined, measure: Measure): number | null {
  return si === undefined || !Number.isFinite(si) ? null : Math.round(si * FACTORS[measure] * 1000) / 1000 + 0
}
