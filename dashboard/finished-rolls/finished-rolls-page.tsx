/** Which joints lie in a finished roll, and where? A list per roll, to be put on it. */
import { useContext } from 'preact/hooks'
import type { FinishedRollView } from '../../edge/joint-columns.ts'
import { Link, NavigateContext } from '../frame/link.tsx'
import { useLiveValue } from '../frame/live-context.ts'
import type { PageProps } from '../frame/pages.ts'
import { Fault } from '../frame/parts.tsx'
import { SearchField } from '../frame/search-field.tsx'
import { useRequest } from '../frame/use-request.ts'
import { say } from '../messages.ts'
import { Printed } from '../print/printed.tsx'
import { useSite } from '../splices/splices-page.tsx'
import { dateAndTime, zoneName } from '../times.ts'
import { formatQuantity } from '../units.ts'
import { UnwindOptions } from '../unwind-options.tsx'

/** A joint is called by its line and when it was made, which its id ends with. */
const JOINT_ID = /^.+-(\d{12,})$/
const jointInWords = (joint: string, name: string, zone: string): string => {
  const tMs = Number(JOINT_ID.exec(joint)?.[1] ?? Number.NaN)
  return Number.isFinite(tMs) ? `${name} ${dateAndTime(tMs, zone)}` : joint
}

const Roll = ({ roll, name, zone }: { roll: FinishedRollView; name: string; zone: string }) => {
  const { joints } = roll
  return (
    <section class="finished-roll" aria-label={roll.roll}>
      <h2>
        {roll.roll} <span class="soft">{`${roll.station} · ${name}`}</span>
      </h2>
      <p>{joints.length === 1 ? say('finished.count_one') : say('finished.count', { count: joints.length })}</p>
      <table class="changes">
        <thead>
          <tr>
            <th scope="col" class="number">
              {say('finished.from_start')}
            </th>
            <th scope="col">{say('finished.at')}</th>
            <th scope="col">{say('joint.what')}</th>
            <th scope="col">{say('finished.splice')}</th>
          </tr>
        </thead>
        <tbody>
          {joints.map(({ joint, arrived, metres, out }) => (
            <tr key={joint}>
              <th scope="row" class="number">
                {metres === null ? say('finished.not_known') : formatQuantity(metres, 'length', 1)}
              </th>
              <td class="time">{`${dateAndTime(Date.parse(arrived), zone)} ${zoneName(Date.parse(arrived), zone)}`}</td>
              <td>{out === null ? say('finished.in') : say('finished.out', { station: out })}</td>
              <td>
                <Link to={{ page: 'splice', id: joint }}>{jointInWords(joint, name, zone)}</Link>
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  )
}

export const FinishedRollsPage = ({ query }: PageProps) => {
  const navigate = useContext(NavigateContext)
  const { zone, unwinds, isLive } = useSite()
  const site = useLiveValue((store) => store.state.health?.site ?? '')
  const params = new URLSearchParams(query)
  const asked = new URLSearchParams([...params].filter(([name, value]) => value !== '' && ASKED.includes(name)))
  const { data, error, retry } = useRequest<FinishedRollView[]>(`api/finished-rolls?${asked}`, isLive)
  const change = (name: string, value: string) => {
    const next = new URLSearchParams(asked)
    if (value === '') next.delete(name)
    else next.set(name, value)
    navigate({ page: 'finished_rolls', query: next.toString() }, { isReplacing: true })
  }
  return (
    <main id="content" class="page report" tabIndex={-1} aria-busy={data === undefined && error === undefined}>
      <header class="page-head">
        <h1>{say('page.finished_rolls')}</h1>
        <p class="no-print">{say('finished.question')}</p>
        <p class="no-print">{site}</p>
        <Printed />
        <form class="filters no-print" onSubmit={(event) => event.preventDefault()}>
          <label>
            {say('filter.unwind')}
            <select
              name="unwind"
              value={asked.get('unwind') ?? ''}
              onChange={(event) => change('unwind', event.currentTarget.value)}
            >
              <option value="">{say('splices.all')}</option>
              <UnwindOptions unwinds={unwinds} />
            </select>
          </label>
          <SearchField
            label={say('finished.roll')}
            name="roll"
            value={asked.get('roll') ?? ''}
            onChange={(roll) => change('roll', roll)}
          />
          <button type="button" onClick={() => window.print()}>
            {say('report.print')}
          </button>
        </form>
      </header>
      {error !== undefined && <Fault says="finished.failed" reason={error} onRetry={retry} />}
      {data?.length === 0 && (
        <div class="empty">
          <p class="empty-head">{say('finished.none')}</p>
          <p>{say('finished.none.do')}</p>
        </div>
      )}
      {data?.map((roll) => (
        <Roll
          key={`${roll.station} ${roll.roll} ${roll.joints[0]?.joint}`}
          roll={roll}
          name={unwinds.find(({ unwind }) => unwind === roll.unwind)?.name ?? roll.unwind}
          zone={zone}
        />
      ))}
      <p class="cautions">{say('finished.caution')}</p>
    </main>
  )
}

const ASKED: readonly string[] = ['unwind', 'roll', 'from', 'to']
