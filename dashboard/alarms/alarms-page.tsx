/** Alarms: what stands and what is to be done about it, what is put aside, what came when. */
import { useRef, useState } from 'preact/hooks'
import type { AlarmView } from '../../edge/api/messages.ts'
import { useCommands } from '../frame/commands.tsx'
import { useLiveValue } from '../frame/live-context.ts'
import { Empty, Fault, PersonField, usePolled } from '../frame/parts.tsx'
import { say } from '../messages.ts'
import { AsideList } from './aside-list.tsx'
import { PastAlarms } from './past-alarms.tsx'
import { StandingAlarm } from './standing-alarm.tsx'
import { HELD_FOR_MS, SAME_TAP_MS, steady } from './steady-list.ts'

/** How often what stands is asked for, s. */
const EVERY_S = 2
const PAST_EVERY_S = 10
const MOST = 200

export const AlarmsPage = () => {
  const { zone } = useCommands()
  const [commands, setCommands] = useState(0)
  const unwinds = useLiveValue((store) => store.state.unwinds)
  const isLost = useLiveValue((store) => store.freshness === 'lost')
  const standing = usePolled<AlarmView[]>('api/alarms?standing=true', EVERY_S, commands)
  const aside = usePolled<AlarmView[]>('api/alarms/aside', EVERY_S, commands)
  const past = usePolled<AlarmView[]>(`api/alarms?limit=${MOST}`, PAST_EVERY_S, commands)
  const done = (): void => setCommands((count) => count + 1)
  /** When somebody last touched the list, and last acknowledged, on the browser's running clock, ms. */
  const touchedAtMs = useRef(Number.NEGATIVE_INFINITY)
  const takenAtMs = useRef(Number.NEGATIVE_INFINITY)
  const shown = useRef<AlarmView[]>([])
  const touch = (): void => {
    touchedAtMs.current = performance.now()
  }
  // Every reading of the list, every 2 s, looks whether it is still held.
  const isHeld = performance.now() - touchedAtMs.current < HELD_FOR_MS
  if (standing.data !== undefined) {
    const asideIds = new Set((aside.data ?? []).map(({ id }) => id))
    shown.current = steady(shown.current, standing.data, asideIds, isHeld)
  }
  const standingIds = new Set((standing.data ?? []).map(({ id }) => id))
  /** A second tap of the same hand takes nothing. */
  const mayTake = (): boolean => {
    const nowMs = performance.now()
    if (nowMs - takenAtMs.current < SAME_TAP_MS) return false
    takenAtMs.current = nowMs
    return true
  }
  const nameOf = (unwind: string): string =>
    unwind === '' ? say('alarms.site') : (unwinds.find((view) => view.unwind === unwind)?.name ?? unwind)
  return (
    <main id="content" class="page" tabIndex={-1}>
      <header class="page-head">
        <h1>{say('page.alarms')}</h1>
        <p class="question">{say('alarms.question')}</p>
      </header>
      {standing.error !== undefined && <Fault reason={standing.error} onRetry={standing.retry} />}
      <section class={isLost ? 'alarms is-dead' : 'alarms'} aria-label={say('alarms.standing')}>
        {standing.data !== undefined && shown.current.length === 0 && (
          <Empty head={say('alarms.none')}>{say('alarms.none.do')}</Empty>
        )}
        {standing.data !== undefined && shown.current.length > 0 && (
          <ul class="standing" aria-label={say('alarms.standing')} onPointerDown={touch} onKeyDown={touch}>
            {shown.current.map((alarm) => (
              <StandingAlarm
                key={alarm.id}
                alarm={alarm}
                name={nameOf(alarm.unwind)}
                zone={zone}
                onDone={done}
                mayTake={mayTake}
                isGone={!standingIds.has(alarm.id)}
                isLost={isLost}
              />
            ))}
          </ul>
        )}
      </section>
      {aside.data !== undefined && aside.data.length > 0 && (
        <AsideList alarms={aside.data} nameOf={nameOf} zone={zone} onDone={done} />
      )}
      <PersonField />
      <PastAlarms alarms={past.data} nameOf={nameOf} zone={zone} />
    </main>
  )
}
