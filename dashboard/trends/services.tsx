/** What is changed or cleaned now and then: how many splices ago, and one tap when it is done. Buttons for gloves. */
import { useState } from 'preact/hooks'
import { addsNote, isSameTap } from '../../edge/splice-review.ts'
import type { GapsView, ServiceView, ShareView } from '../../edge/trend-views.ts'
import { Icon } from '../frame/icons.tsx'
import { useLiveValue } from '../frame/live-context.ts'
import { serverNow } from '../live/state.ts'
import { say } from '../messages.ts'
import { clockSeconds, dateMinutesZone } from '../times.ts'
import { formatNumber, formatQuantity } from '../units.ts'
import { serviceName } from './log-words.ts'

const percent = (share: number): string => formatNumber(100 * share, 1)
const interval = ({ share, low, high }: ShareView): string =>
  say('share.interval', { share: percent(share), low: percent(low), high: percent(high) })

export const countInWords = ({ last, splices, failures, limit, limit_by }: ServiceView): string => {
  const key = last === null ? 'service.since_never' : splices === 1 ? 'service.since_one' : 'service.since'
  const since = say(key, { splices, failures })
  if (limit === null) return since
  return `${since} ${say(limit_by === 'config' ? 'service.limit' : 'service.habit', { limit })}`
}

/** What people measured at joints: since the last time, and how it grew between earlier ones. */
const gapsInWords = ({ gaps, gaps_early, gaps_late }: ServiceView): string => {
  const words = ({ median }: GapsView) => formatQuantity(median, 'diameter', 2)
  return [
    gaps !== null && say('service.gaps', { gap: words(gaps), joints: gaps.joints }),
    gaps_early !== null &&
      gaps_late !== null &&
      say('service.gaps.halves', { early: words(gaps_early), late: words(gaps_late) }),
  ]
    .filter((part) => part !== false)
    .join(' ')
}

interface ServiceProps {
  service: ServiceView
  zone: string
  /** Resolves to whether it was taken. */
  onDone: (note: string) => Promise<boolean>
}

const Service = ({ service, zone, onDone }: ServiceProps) => {
  const { item, has_batch, last, splices, limit, is_due, failures_early, failures_late } = service
  const name = serviceName(service)
  const [batch, setBatch] = useState('')
  const [tappedTMs, setTappedTMs] = useState<number>()
  const [isTwice, setTwice] = useState(false)
  const [isSending, setSending] = useState(false)
  // By the daemon's clock, as the entry has it.
  const nowTMs = useLiveValue((store) => Math.floor((serverNow(store.state, store.nowMs) ?? 0) / 1000) * 1000)
  const newestTMs = Math.max(tappedTMs ?? 0, last === null ? 0 : Date.parse(last.time))
  const isRecent = newestTMs > 0 && isSameTap(newestTMs, nowTMs)
  const enter = async () => {
    // The batch that an entry lacks may follow.
    const isSame = isRecent && (last === null || !addsNote(last, batch.trim()))
    setTwice(isSame)
    if (isSame || isSending) return
    setSending(true)
    if (await onDone(batch)) {
      setTappedTMs(nowTMs)
      setBatch('')
    }
    setSending(false)
  }
  return (
    <li data-due={is_due}>
      <h3>
        {is_due && <Icon name="medium" />}
        {name}
      </h3>
      <p>{countInWords(service)}</p>
      {limit !== null && (
        <progress max={limit} value={Math.min(splices, limit)} aria-label={say('service.used', { name })} />
      )}
      {last !== null && (
        <p class="soft">
          {say('service.last', {
            time: dateMinutesZone(Date.parse(last.time), zone),
            person: last.person ?? '',
            note: last.note,
          })}
        </p>
      )}
      {failures_early !== null && failures_late !== null && (
        <p class="soft">
          {say('service.failures', { early: interval(failures_early), late: interval(failures_late) })}
        </p>
      )}
      {(service.gaps ?? service.gaps_late) !== null && <p class="soft">{gapsInWords(service)}</p>}
      <form
        class="no-print"
        onSubmit={(event) => {
          event.preventDefault()
          void enter()
        }}
      >
        {has_batch && (
          <label>
            {say('service.batch')}
            <input
              name={`batch-${item}`}
              maxLength={100}
              value={batch}
              onInput={(event) => setBatch(event.currentTarget.value)}
            />
          </label>
        )}
        <button type="submit" class="for-gloves">
          {say('service.done', { name })}
        </button>
        <p role="status">
          {isRecent && say(isTwice ? 'service.twice' : 'service.entered', { time: clockSeconds(newestTMs, zone) })}
        </p>
      </form>
    </li>
  )
}

export interface ServicesProps {
  services: readonly ServiceView[]
  zone: string
  onDone: (item: string, note: string) => Promise<boolean>
}

export const Services = ({ services, zone, onDone }: ServicesProps) =>
  services.length === 0 ? null : (
    <section aria-labelledby="services">
      <h2 id="services">{say('service.title')}</h2>
      <ul class="services">
        {services.map((service) => (
          <Service key={service.item} service={service} zone={zone} onDone={(note) => onDone(service.item, note)} />
        ))}
      </ul>
    </section>
  )
