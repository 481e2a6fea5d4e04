/** Where the PLC's own count of splices and the list differ: named one by one, newest first. */
import type { CountDifference } from '../../edge/joint-columns.ts'
import { useRequest } from '../frame/use-request.ts'
import { say } from '../messages.ts'
import { dateAndTime, zoneName } from '../times.ts'

const SHOWN = 20

export const CountDifferences = ({
  nameOf,
  zone,
  again,
}: {
  nameOf: (unwind: string) => string
  zone: string
  again: unknown
}) => {
  const { data } = useRequest<CountDifference[]>(`api/count-differences?limit=${SHOWN}`, again)
  if (data === undefined || data.length === 0) return null
  return (
    <details class="count-differences">
      <summary>{data.length === 1 ? say('count.differs_one') : say('count.differs', { count: data.length })}</summary>
      <ul>
        {data.map(({ unwind, time, kind }) => {
          const tMs = Date.parse(time)
          const at = `${dateAndTime(tMs, zone)} ${zoneName(tMs, zone)}`
          return <li key={`${unwind} ${time} ${kind}`}>{say(`count.${kind}`, { unwind: nameOf(unwind), time: at })}</li>
        })}
      </ul>
    </details>
  )
}
