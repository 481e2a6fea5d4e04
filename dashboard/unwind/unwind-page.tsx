/** One unwind: how long does this roll last, and is everything ready? */
import type { AdviceView, LineView, UnwindView } from '../../edge/api/messages.ts'
import type { EntriesView } from '../../edge/api/messages-entries.ts'
import { Link } from '../frame/link.tsx'
import { useTicks } from '../frame/live-context.ts'
import type { PageProps } from '../frame/pages.ts'
import { Empty, PersonField, usePolled } from '../frame/parts.tsx'
import { JointSection } from '../joints/joint-section.tsx'
import { say } from '../messages.ts'
import { Answer } from './answer.tsx'
import { FestoonAhead } from './festoon-ahead.tsx'
import { ForecastPast } from './forecast-past.tsx'
import { JobAndFlags } from './job-and-flags.tsx'
import { LineJoints } from './line-joints.tsx'
import { NextSplices } from './next-splices.tsx'
import { Preparation } from './preparation.tsx'
import { RollNow } from './roll-now.tsx'
import { WaitingRoll } from './waiting-roll.tsx'
import { WhatIf } from './what-if.tsx'

/** Advice takes a while to reckon and changes slowly, s. */
const ADVICE_EVERY_S = 5
const ENTRIES_EVERY_S = 10

const Tabs = ({ unwinds, current }: { unwinds: readonly UnwindView[]; current: string }) =>
  unwinds.length < 2 ? null : (
    <nav class="tabs" aria-label={say('unwind.choose')}>
      {unwinds.map(({ unwind, name }) => (
        <Link
          key={unwind}
          class="tap"
          to={{ page: 'unwind', id: unwind }}
          aria-current={unwind === current ? 'page' : undefined}
        >
          {name}
        </Link>
      ))}
    </nav>
  )

/** A change in what was entered, here or elsewhere, asks for the entries anew. */
const entryKey = (view: UnwindView): string => JSON.stringify([view.waiting_roll, view.preparation])

const Unwind = ({ view, isLost }: { view: UnwindView; isLost: boolean }) => {
  const path = `api/unwinds/${encodeURIComponent(view.unwind)}`
  const advice = usePolled<AdviceView>(`${path}/advice`, ADVICE_EVERY_S, entryKey(view))
  const entries = usePolled<EntriesView>(`${path}/entries`, ENTRIES_EVERY_S, entryKey(view))
  const lines = usePolled<LineView[]>('api/lines', ADVICE_EVERY_S)
  return (
    <div class={isLost ? 'unwind is-dead' : 'unwind'}>
      <Answer view={view} isLost={isLost} />
      <div class="unwind-columns">
        <div class="unwind-column">
          <RollNow view={view} advice={advice.data} />
          <FestoonAhead view={view} />
          <NextSplices advice={advice.data} fills={view.buffer?.mode === 'fill_before'} />
        </div>
        <div class="unwind-column gloves">
          <Preparation view={view} isLost={isLost} />
          <WaitingRoll view={view} entries={entries.data} onEntered={entries.retry} />
          <JobAndFlags
            view={view}
            entries={entries.data}
            advice={advice.data}
            onEntered={() => {
              entries.retry()
              advice.retry()
            }}
          />
          <PersonField />
        </div>
      </div>
      <ForecastPast view={view} />
      <WhatIf view={view} />
      <JointSection joints={view.joints} isLive />
      <LineJoints unwind={view.unwind} lines={lines.data} />
    </div>
  )
}

export const UnwindPage = ({ id }: PageProps) => {
  const { state, freshness } = useTicks()
  const view = state.unwinds.find(({ unwind }) => unwind === id) ?? (id === '' ? state.unwinds[0] : undefined)
  return (
    <main id="content" class="page" tabIndex={-1}>
      <header class="page-head">
        <h1>
          {view?.name ?? say('page.unwind')}
          {view?.active_spindle != null && <span class="side"> {view.active_spindle}</span>}
        </h1>
        <p class="question">{say('unwind.question')}</p>
      </header>
      <Tabs unwinds={state.unwinds} current={view?.unwind ?? ''} />
      {view === undefined ? (
        <Empty head={say(state.serverTMs === undefined ? 'app.loading' : 'unwind.missing')}>
          {state.serverTMs === undefined ? '' : say('unwind.missing.do')}
        </Empty>
      ) : (
        <Unwind key={view.unwind} view={view} isLost={freshness === 'lost'} />
      )}
    </main>
  )
}
