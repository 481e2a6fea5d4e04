/** A log entry on a page: one that was taken back struck through, with who took it back. */
import type { LogEntry, ServiceView } from '../../edge/trend-views.ts'
import { say } from '../messages.ts'
import { minutesWithZone } from '../times.ts'
import { entryInWords } from './log-words.ts'

interface EntryWordsProps {
  entry: LogEntry
  services?: readonly ServiceView[]
  zone: string
}

export const EntryWords = ({ entry, services, zone }: EntryWordsProps) => {
  const words = entryInWords(entry, services)
  if (entry.taken_back === null) return <>{words}</>
  const { person, time } = entry.taken_back
  return (
    <>
      <del>{words}</del>{' '}
      <span class="taken-back">
        {say('log.taken_back', { person: person ?? '', time: minutesWithZone(Date.parse(time), zone) })}
      </span>
    </>
  )
}
