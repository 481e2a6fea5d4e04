/** On paper only: of what, and when it was printed, by the daemon's clock. */
import { useLiveValue } from '../frame/live-context.ts'
import { useSession } from '../frame/session.tsx'
import { serverNow } from '../live/state.ts'
import { say } from '../messages.ts'
import { dateMinutesZone } from '../times.ts'
import { DemoOnPaper } from './demo-on-paper.tsx'

/** @param of - what was chosen to be on this paper; empty where nothing was. */
export const Printed = ({ of = [] }: { of?: readonly string[] }) => {
  const text = useLiveValue((store) => {
    const tMs = serverNow(store.state, store.nowMs)
    const zone = store.state.health?.time_zone ?? 'UTC'
    return tMs === undefined ? undefined : dateMinutesZone(tMs, zone)
  })
  const site = useLiveValue((store) => store.state.health?.site ?? '')
  const person = useSession().session?.person ?? null
  if (text === undefined) return null
  const printed = say(person === null ? 'report.printed' : 'report.printed.by', { time: text, person: person ?? '' })
  return (
    <>
      <DemoOnPaper />
      <p class="print-only" data-part="printed">
        {[site, ...of, printed].filter((part) => part !== '').join(' · ')}
      </p>
    </>
  )
}
