/** Small parts that every page near the reader is made of: how old a figure is, what is empty and why, what went wrong. */
import type { ComponentChildren } from 'preact'
import { useState } from 'preact/hooks'
import { serverNow } from '../live/state.ts'
import { say } from '../messages.ts'
import { ageInWords } from '../times.ts'
import { useLiveValue } from './live-context.ts'
import { keepPerson, readPerson } from './person.ts'
import { useSession } from './session.tsx'
import { type Requested, useRequest } from './use-request.ts'

/** Older than this a figure that is asked for again and again looks stale, s. */
const STALE_AFTER_S = 15

/** Reads again every so many seconds while the connection is there. */
export const usePolled = <T,>(path: string | undefined, everyS: number, again: unknown = 0): Requested<T> => {
  const turn = useLiveValue((store) => Math.floor(store.nowMs / (1000 * everyS)))
  const isLive = useLiveValue((store) => store.freshness !== 'lost')
  return useRequest<T>(isLive ? path : undefined, `${turn} ${isLive} ${String(again)}`)
}

/** How old a time is by the daemon's clock; says so in another way than in colour when that is long ago. */
export const Age = ({ time, staleAfterS = STALE_AFTER_S }: { time: string | null; staleAfterS?: number }) => {
  const ageS = useLiveValue((store) => {
    const nowMs = serverNow(store.state, store.nowMs)
    return nowMs === undefined || time === null ? undefined : Math.max(0, Math.floor((nowMs - Date.parse(time)) / 1000))
  })
  if (ageS === undefined) return <span class="age">{say('value.unknown')}</span>
  const isStale = ageS > staleAfterS
  return (
    <span class={isStale ? 'age is-old' : 'age'}>
      {say(isStale ? 'age.old' : 'age.ago', { age: ageInWords(ageS) })}
    </span>
  )
}

export const Empty = ({ head, children }: { head: string; children: ComponentChildren }) => (
  <div class="empty">
    <p class="empty-head">{head}</p>
    <p>{children}</p>
  </div>
)

interface FaultProps {
  /** What could not be read, as a sentence with the reason. */
  says?: 'part.failed' | 'report.failed' | 'trends.failed' | 'splices.failed' | 'finished.failed'
  reason: string
  onRetry: () => void
}

export const Fault = ({ says = 'part.failed', reason, onRetry }: FaultProps) => (
  <div class="fault" role="alert">
    <span>{say(says, { reason })}</span>
    <button type="button" onClick={onRetry}>
      {say('splices.retry')}
    </button>
  </div>
)

/** The name under which this browser enters things where nobody signs in. */
export const PersonField = () => {
  const { session } = useSession()
  const [person, setPerson] = useState(readPerson)
  // Who is signed in has a name already.
  if (session?.sign_in === true) return null
  return (
    <label class="person">
      {say('person.label')}
      <input
        value={person}
        maxLength={64}
        autocomplete="name"
        placeholder={say('person.none')}
        onInput={(event) => {
          setPerson(event.currentTarget.value)
          keepPerson(event.currentTarget.value)
        }}
      />
    </label>
  )
}
