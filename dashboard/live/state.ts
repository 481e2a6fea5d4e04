/** What the dashboard knows, and how each message changes it. Pure; times named `…AtMs` are this browser's running clock. */
import type { HealthView, SpliceView, UnwindView } from '../../edge/api/messages.ts'
import type { ScreenEvents } from '../../edge/api/messages-screen.ts'
import type { JointEventRow } from '../../edge/joint-columns.ts'

export interface LiveState {
  unwinds: readonly UnwindView[]
  health: HealthView | undefined
  /** Splices that came or changed since this page opened, by id; the newest `KEPT_SPLICES`. */
  splices: ReadonlyMap<string, SpliceView>
  /** What happened last to a joint at a station, anywhere. */
  joint: JointEventRow | undefined
  /** Time of the last message by the daemon's clock, ms since 1970 UTC. */
  serverTMs: number | undefined
  lastMessageAtMs: number | undefined
  openedAtMs: number
  /** Counts events of alarms that belong to no unwind: what stands is asked for anew. */
  siteAlarmEvents: number
  /** Names of the files that the daemon serves as the dashboard now; undefined before it said so or where it has none. */
  build: string | undefined
  /** The daemon wants to know who is there. */
  needsSignIn: boolean
}

const KEPT_SPLICES = 200

export const initialState = (openedAtMs: number): LiveState => ({
  unwinds: [],
  health: undefined,
  splices: new Map(),
  joint: undefined,
  serverTMs: undefined,
  lastMessageAtMs: undefined,
  openedAtMs,
  siteAlarmEvents: 0,
  build: undefined,
  needsSignIn: false,
})

type Message = { [K in keyof ScreenEvents]: { event: K; data: ScreenEvents[K] } }[keyof ScreenEvents]

const withTime = (state: LiveState, time: string | undefined, nowMs: number): LiveState => {
  const tMs = time === undefined ? Number.NaN : Date.parse(time)
  return { ...state, lastMessageAtMs: nowMs, needsSignIn: false, ...(Number.isNaN(tMs) ? {} : { serverTMs: tMs }) }
}

/**
 * Only `unwinds` and `changes` prove that estimates are alive: a late splice record must not make old figures look live,
 * so the other events leave the time of the last message alone.
 */
export const applyMessage = (state: LiveState, message: Message, nowMs: number): LiveState => {
  switch (message.event) {
    case 'unwinds':
      return { ...withTime(state, message.data.time, nowMs), unwinds: message.data.unwinds }
    case 'changes': {
      const { time, unwinds } = message.data
      return {
        ...withTime(state, time, nowMs),
        unwinds: state.unwinds.map((view) => ({ ...view, time, ...unwinds[view.unwind] })),
      }
    }
    case 'hello':
      return { ...state, build: message.data.build ?? undefined }
    case 'health':
      return { ...state, health: message.data }
    case 'splice': {
      const splices = new Map(state.splices)
      splices.delete(message.data.id)
      splices.set(message.data.id, message.data)
      const oldest = splices.keys().next().value
      if (splices.size > KEPT_SPLICES && oldest !== undefined) splices.delete(oldest)
      return { ...state, splices }
    }
    case 'joint':
      return { ...state, joint: message.data }
    case 'alarm':
      // The alarms of an unwind come with every `unwinds`; only those of the whole site have to be asked for.
      return message.data.unwind === '' ? { ...state, siteAlarmEvents: state.siteAlarmEvents + 1 } : state
  }
}

/** The daemon's time now, carried on from the last message by the running clock; undefined before the first. */
export const serverNow = (state: LiveState, nowMs: number): number | undefined =>
  state.serverTMs === undefined || state.lastMessageAtMs === undefined
    ? undefined
    : state.serverTMs + (nowMs - state.lastMessageAtMs)

/** For which moment of the running clock an unwind's estimate holds: its own time may lag the message's. */
export const estimateAtMs = (state: LiveState, view: Pick<UnwindView, 'time'>): number => {
  const received = state.lastMessageAtMs ?? state.openedAtMs
  const lagMs = (state.serverTMs ?? 0) - Date.parse(view.time)
  // A row from the future or from long ago says more about clocks than about its age: staleness is the daemon's to say.
  return lagMs > 0 && lagMs < 2000 ? received - lagMs : received
}
