/** Handover: what does the next crew have to know? One page, also on paper (A4 or Letter). */
import { useState } from 'preact/hooks'
import type { HandoverView } from '../../edge/api/messages-handover.ts'
import { useLiveValue } from '../frame/live-context.ts'
import { Age, Fault, PersonField, usePolled } from '../frame/parts.tsx'
import { say } from '../messages.ts'
import { dateAndTime, minutesWithZone, zoneName } from '../times.ts'
import { AlarmLines, WrongRolls } from './alarm-lines.tsx'
import { Changes, Joints, LastBad, Services, Stubs } from './lists.tsx'
import { NextHour } from './next-hour.tsx'
import { Notes } from './notes.tsx'
import { TakenOver } from './taken-over.tsx'

const EVERY_S = 10

export const HandoverPage = () => {
  const zone = useLiveValue((store) => store.state.health?.time_zone ?? 'UTC')
  const site = useLiveValue((store) => store.state.health?.site ?? '')
  const isDemo = useLiveValue((store) => store.state.health?.demo === true)
  const isLost = useLiveValue((store) => store.freshness === 'lost')
  const [entered, setEntered] = useState(0)
  const { data, error, retry } = usePolled<HandoverView>('api/handover', EVERY_S, entered)
  const onEntered = (): void => setEntered((count) => count + 1)
  const nameOf = (unwind: string): string =>
    unwind === '' ? say('alarms.site') : (data?.unwinds.find((one) => one.unwind === unwind)?.name ?? unwind)
  const at = (time: string): string => minutesWithZone(Date.parse(time), zone)
  return (
    <main id="content" class="page handover" tabIndex={-1}>
      <header class="page-head">
        <h1>{say('page.handover')}</h1>
        <p class="question">{say('handover.question')}</p>
        <button type="button" class="no-print" onClick={() => print()}>
          {say('handover.print')}
        </button>
      </header>
      {error !== undefined && <Fault reason={error} onRetry={retry} />}
      {data === undefined ? (
        error === undefined && <p class="question">{say('app.loading')}</p>
      ) : (
        <div class={isLost ? 'is-dead' : ''}>
          <p class="handover-when">
            {site}, {dateAndTime(Date.parse(data.time), zone)} {zoneName(Date.parse(data.time), zone)}.{' '}
            {say('handover.shift', { time: at(data.shift_began) })}{' '}
            <span class="no-print">
              <Age time={data.time} staleAfterS={3 * EVERY_S} />
            </span>
          </p>
          <NextHour unwinds={data.unwinds} time={data.time} zone={zone} />
          <div class="handover-parts">
            <AlarmLines standing={data.standing} aside={data.aside} nameOf={nameOf} zone={zone} />
            <WrongRolls alarms={data.wrong_rolls} nameOf={nameOf} zone={zone} />
            <Notes notes={data.notes} unwinds={data.unwinds} nameOf={nameOf} zone={zone} onEntered={onEntered} />
            <LastBad splices={data.last_bad} shiftBegan={data.shift_began} nameOf={nameOf} zone={zone} />
            <Stubs stubs={data.stubs} nameOf={nameOf} zone={zone} />
            <Joints joints={data.joints} nameOf={nameOf} zone={zone} />
            <Services services={data.services} nameOf={nameOf} />
            <Changes changes={data.changes} services={data.services} nameOf={nameOf} zone={zone} />
          </div>
          <TakenOver last={data.taken_over} zone={zone} onEntered={onEntered} />
          <div class="no-print">
            <PersonField />
          </div>
        </div>
      )}
      <p class="print-only caution-print">
        {isDemo && `${say('app.demo')}. `}
        {say('app.caution')} {say('app.caution.reach')}
      </p>
    </main>
  )
}
