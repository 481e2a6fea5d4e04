/** What was set and served in the day before a splice and while it was watched: the first thing to ask after a bad one. */
import { useMemo } from 'preact/hooks'
import type { SpliceView } from '../../edge/api/messages.ts'
import type { LogEntry } from '../../edge/trend-views.ts'
import { useRequest } from '../frame/use-request.ts'
import { say } from '../messages.ts'
import { dayAndMinutes } from '../times.ts'
import { EntryWords } from '../trends/entry-words.tsx'

const DAY_MS = 86_400_000
/** A trace ends a minute after its splice; one that never ended is looked at for a while, ms. */
const AFTER_MS = 60_000
const UNENDED_MS = 600_000

/** Newest first; empty while it is not read yet. */
export const useSetBefore = (splice: SpliceView | undefined): readonly LogEntry[] => {
  const startedTMs = splice === undefined ? 0 : Date.parse(splice.started)
  const endedTMs = splice?.ended == null ? startedTMs + UNENDED_MS : Date.parse(splice.ended) + AFTER_MS
  const query = new URLSearchParams({
    unwind: splice?.unwind ?? '',
    from: new Date(startedTMs - DAY_MS).toISOString(),
    to: new Date(endedTMs).toISOString(),
  })
  const { data } = useRequest<LogEntry[]>(splice && `api/log?${query}`)
  // The same list while it stays the same: a chart hangs on it.
  return useMemo(() => (data ?? []).filter(({ kind }) => kind === 'setting' || kind === 'service'), [data])
}

export const SetBefore = ({ log, zone }: { log: readonly LogEntry[]; zone: string }) => (
  <section aria-labelledby="set-before">
    <h2 id="set-before">{say('splice.set_before')}</h2>
    {log.length === 0 ? (
      <p>{say('splice.set_before.none')}</p>
    ) : (
      <table class="phases">
        <tbody>
          {log.map((entry) => (
            <tr key={entry.id}>
              <td>{dayAndMinutes(Date.parse(entry.time), zone)}</td>
              <th scope="row">
                <EntryWords entry={entry} zone={zone} />
              </th>
            </tr>
          ))}
        </tbody>
      </table>
    )}
  </section>
)
