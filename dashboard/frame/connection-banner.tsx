/** Says that the connection is gone, since when, and what to do: over every page, within 3 s. */
import { say } from '../messages.ts'
import { clockWithZone } from '../times.ts'
import { useLiveValue } from './live-context.ts'

export const ConnectionBanner = () => {
  const isLost = useLiveValue((store) => store.freshness === 'lost')
  const sinceTMs = useLiveValue((store) => store.state.serverTMs)
  const zone = useLiveValue((store) => store.state.health?.time_zone ?? 'UTC')
  if (!isLost) return null
  const isFirst = sinceTMs === undefined
  return (
    <div class="connection" role="alert" data-part="connection-lost">
      <strong>
        {isFirst
          ? say('connection.never')
          : `${say('connection.lost')}: ${say('connection.lost.since', { time: clockWithZone(sinceTMs, zone) })}`}
      </strong>
      <span>{isFirst ? say('connection.never.do') : say('connection.lost.do')}</span>
    </div>
  )
}
