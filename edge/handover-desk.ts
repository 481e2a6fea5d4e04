/** What a shift hands over to the next: from the very views that the other pages show, and notes that are kept until somebody closes them. */
import type { AdviceView, DaemonPort, SpliceView } from './api/messages.ts'
import type { HandoverPort, HandoverView } from './api/messages-handover.ts'
import type { HistoryStore } from './history/store.ts'
import type { Words } from './messages/render.ts'
import { shiftStartTMs } from './shift.ts'
import { listedVerdict, peopleSaidOf, verdictOf } from './splice-review.ts'
import type { LogEntry, LogKind } from './trend-views.ts'

const HOUR_S = 3600
const DAY_MS = 86_400_000
const MOST_LOGGED = 500
const MOST_ALARMS = 200
const MOST_SPLICES = 500
const MOST_JOINTS = 200
/** Splices that were not good: more than these are for the report. */
const MOST_BAD = 5
const BAD = ['failed', 'missed', 'aborted'] as const
/** A note that nobody closes is forgotten after so long, ms: four weeks. */
const NOTES_FOR_MS = 28 * DAY_MS
const CHANGES: readonly LogKind[] = ['setting', 'service', 'service_taken_back', 'usual', 'trend', 'since_setting']

/** None within the hour is a claim: where no time is known it is not made. */
function nextHour(advice: AdviceView | undefined): HandoverView['unwinds'][number]['splices'] {
  if (advice === undefined || advice.next_splices.every(({ seconds }) => seconds === null)) {
    const isFarOff = advice !== undefined && advice.next_splices.length === 0 && advice.rolls_to_stage !== null
    return isFarOff ? [] : null
  }
  return advice.next_splices
    .filter(({ seconds }) => seconds !== null && seconds <= HOUR_S)
    .map(({ seconds, seconds_low, seconds_high, roll, material }) => {
      return { seconds, seconds_low, seconds_high, roll, material }
    })
}

export interface HandoverParts {
  port: Pick<DaemonPort, 'unwinds' | 'advice' | 'alarms' | 'alarmsAside' | 'splices' | 'reason' | 'joints' | 'desk'>
  store: Pick<HistoryStore, 'log' | 'putLog'>
  site: () => { shifts: readonly string[]; timeZone: string }
  nowMs: () => number
}

export class HandoverDesk implements HandoverPort {
  readonly #parts: HandoverParts

  constructor(parts: HandoverParts) {
    this.#parts = parts
  }

  view(): HandoverView {
    const { port, site, store } = this.#parts
    const nowMs = this.#parts.nowMs()
    const { shifts, timeZone } = site()
    const sinceTMs = shiftStartTMs(nowMs, shifts, timeZone)
    const unwinds = port.unwinds()
    return {
      time: new Date(nowMs).toISOString(),
      shift_began: new Date(sinceTMs).toISOString(),
      unwinds: unwinds.map((view) => {
        const advice = port.advice(view.unwind)
        return {
          unwind: view.unwind,
          name: view.name,
          splices: nextHour(advice),
          preparation: view.preparation,
          waiting_roll: view.waiting_roll,
          rolls_to_stage: advice?.rolls_to_stage ?? null,
          job_remaining: advice?.job?.remaining ?? null,
          job_end: view.job_end,
        }
      }),
      stubs: port.splices({ fromTMs: sinceTMs, limit: MOST_SPLICES }).flatMap(stubOf),
      standing: port.alarms({ standing: true, limit: MOST_ALARMS }),
      aside: port.alarmsAside(),
      wrong_rolls: port
        .alarms({ limit: MOST_LOGGED })
        .filter(({ alarm, raised }) => alarm === 'wrong_roll_spliced' && Date.parse(raised) >= sinceTMs),
      notes: this.#openNotes(nowMs),
      changes: store.log({ fromTMs: sinceTMs, limit: MOST_LOGGED }).filter(({ kind }) => CHANGES.includes(kind)),
      last_bad: this.#lastBad(sinceTMs),
      services: unwinds.flatMap(({ unwind }) => port.desk.services(unwind) ?? []),
      joints: port
        .joints({ fromTMs: nowMs - DAY_MS, toTMs: nowMs, limit: MOST_JOINTS })
        .flatMap(({ id, unwind, stations }) =>
          stations
            .filter(({ state }) => state === 'unconfirmed')
            .map(({ station, arrived }) => ({ id, unwind, station, arrived })),
        ),
      taken_over: store.log({ kind: 'handover', limit: 1 })[0] ?? null,
    }
  }

  #openNotes(nowMs: number): LogEntry[] {
    const { store } = this.#parts
    const fromTMs = nowMs - NOTES_FOR_MS
    const closed = new Set(
      store.log({ kind: 'note_closed', fromTMs, limit: MOST_LOGGED }).map(({ subject }) => subject),
    )
    return store.log({ kind: 'note', fromTMs, limit: MOST_LOGGED }).filter(({ id }) => !closed.has(id))
  }

  #lastBad(fromTMs: number): HandoverView['last_bad'] {
    const { port } = this.#parts
    const newestFirst = (a: SpliceView, b: SpliceView): number => b.started.localeCompare(a.started)
    const ofShift = BAD.map((outcome) => port.splices({ outcome, fromTMs, limit: MOST_BAD }))
    // A run of missed ones shall not push out the one that failed.
    const ofEachKind = ofShift.flatMap((splices) => splices.slice(0, 1))
    const others = ofShift.flatMap((splices) => splices.slice(1)).sort(newestFirst)
    const shown = [...ofEachKind, ...others].slice(0, MOST_BAD)
    if (shown.length === 0) {
      shown.push(
        ...BAD.flatMap((outcome) => port.splices({ outcome, limit: 1 }))
          .sort(newestFirst)
          .slice(0, 1),
      )
    }
    return shown.sort(newestFirst).map((splice) => {
      const { id, unwind, started, review } = splice
      const suspicion = port.reason(id) ?? null
      return { id, unwind, started, ...listedVerdict(splice), suspicion, ...peopleSaidOf(review) }
    })
  }

  note(text: string, unwind: string, person: string): void {
    this.#put('note', unwind, 'open', text, person)
  }

  closeNote(id: string, person: string): Words | undefined {
    const note = this.#openNotes(this.#parts.nowMs()).find((entry) => entry.id === id)
    if (note === undefined) return { key: 'refusal.note_closed' }
    this.#put('note_closed', note.unwind, id, '', person)
    return undefined
  }

  takeOver(note: string, person: string, signedIn: string | null): void {
    this.#put('handover', '', 'taken_over', note, person, signedIn)
  }

  #put(kind: LogKind, unwind: string, subject: string, note: string, person: string, from: string | null = null): void {
    const tMs = this.#parts.nowMs()
    const id = `${unwind}-${kind}-${subject}-${tMs}`
    const time = new Date(tMs).toISOString()
    this.#parts.store.putLog({
      id,
      unwind,
      time,
      kind,
      subject,
      side: null,
      from,
      to: null,
      unit: '',
      person,
      note,
      taken_back: null,
    })
  }
}

/** What lies about after a splice: said to be returned or run again, or left by one that came early and not spoken of. */
function stubOf(splice: SpliceView): HandoverView['stubs'] {
  const { id, unwind, started, left_on_roll: metres, flags, details, review } = splice
  // The old roll ran on: nothing lies about.
  if (verdictOf(splice).outcome === 'aborted') return []
  const rest = review?.rest ?? null
  const isEarly = flags.split(';').includes('early')
  if (metres === null || rest === 'waste' || (rest === null && !isEarly)) return []
  return [{ id, unwind, started, material: details.material, metres, rest }]
}
