/** The smaller parts of a handover: the last failure, stubs, joints, counts since knife and tape, what was changed. */
import type { HandoverView } from '../../edge/api/messages-handover.ts'
import { inWords } from '../daemon-words.ts'
import { Icon } from '../frame/icons.tsx'
import { Link } from '../frame/link.tsx'
import { say, sayName } from '../messages.ts'
import { ListedCause, OutcomeBadge } from '../splices/outcome-badge.tsx'
import { peopleSaidInWords } from '../splices/people-said.ts'
import { clockMinutes, dateMinutesZone, minutesWithZone, zoneName } from '../times.ts'
import { EntryWords } from '../trends/entry-words.tsx'
import { serviceName, settingOften, shownLog } from '../trends/log-words.ts'
import { formatLength } from '../units.ts'

interface Common {
  nameOf: (unwind: string) => string
  zone: string
}

const whenOf = (time: string, zone: string): string => dateMinutesZone(Date.parse(time), zone)

type BadSplice = HandoverView['last_bad'][number]

/** That too few good ones were seen to tell is a word for who reviews the splice: a crew needs a reason or none. */
const reasonIn = (suspicion: BadSplice['suspicion']): string => {
  const words = suspicion?.words
  const isTooFew = words !== undefined && [words].flat().every(({ key }) => key === 'why.too_few')
  return suspicion === null || isTooFew ? say('handover.last_bad.no_reason') : inWords(suspicion)
}

const Bad = ({ splice, nameOf, zone }: Common & { splice: BadSplice }) => {
  const said = peopleSaidInWords(splice)
  return (
    <li>
      <p>
        <OutcomeBadge outcome={splice.outcome} isSaid={splice.is_outcome_said} />{' '}
        <Link to={{ page: 'splice', id: splice.id }}>
          {nameOf(splice.unwind)}, {whenOf(splice.started, zone)}
        </Link>
        {splice.cause !== null && (
          <>
            : <ListedCause {...splice} />
          </>
        )}
      </p>
      {said !== '' && <p>{said}</p>}
      <p>{reasonIn(splice.suspicion)}</p>
    </li>
  )
}

interface LastBadProps extends Common {
  splices: readonly BadSplice[]
  shiftBegan: string
}

export const LastBad = ({ splices, shiftBegan, ...common }: LastBadProps) => {
  const [newest] = splices
  return (
    <section aria-labelledby="last-bad">
      <h2 id="last-bad">{say('handover.last_bad')}</h2>
      {newest === undefined && <p class="question">{say('handover.last_bad.none')}</p>}
      {newest !== undefined && Date.parse(newest.started) < Date.parse(shiftBegan) && (
        <p class="question">{say('handover.last_bad.before')}</p>
      )}
      <ul class="lines">
        {splices.map((splice) => (
          <Bad key={splice.id} splice={splice} {...common} />
        ))}
      </ul>
    </section>
  )
}

export const Stubs = ({ stubs, nameOf, zone }: Common & Pick<HandoverView, 'stubs'>) => (
  <section aria-labelledby="stubs">
    <h2 id="stubs">{say('handover.stubs')}</h2>
    {stubs.length === 0 && <p class="question">{say('handover.stubs.none')}</p>}
    <ul class="lines">
      {stubs.map((stub) => (
        <li key={stub.id}>
          <Link to={{ page: 'splice', id: stub.id }}>
            {nameOf(stub.unwind)}, {clockMinutes(Date.parse(stub.started), zone)}{' '}
            {zoneName(Date.parse(stub.started), zone)}
          </Link>
          : {formatLength(stub.metres)}
          {stub.material !== null && stub.material !== '' && ` · ${say('roll.material', { material: stub.material })}`}{' '}
          · {stub.rest === null ? say('handover.stubs.unsaid') : sayName('stub', stub.rest)}
        </li>
      ))}
    </ul>
  </section>
)

export const Joints = ({ joints, nameOf, zone }: Common & Pick<HandoverView, 'joints'>) => (
  <section aria-labelledby="open-joints">
    <h2 id="open-joints">{say('handover.joints')}</h2>
    {joints.length === 0 && <p class="question">{say('handover.joints.none')}</p>}
    <ul class="lines">
      {joints.map(({ id, unwind, station, arrived }) => (
        <li key={`${id} ${station}`}>
          <Icon name="joint" />{' '}
          <Link to={{ page: 'splice', id }}>
            {nameOf(unwind)}, {station}
            {arrived !== null && `, ${minutesWithZone(Date.parse(arrived), zone)}`}
          </Link>
        </li>
      ))}
    </ul>
  </section>
)

const countText = (service: HandoverView['services'][number]): string => {
  const { splices: count, limit, last } = service
  const name = serviceName(service)
  if (limit === null) return say(last === null ? 'handover.services.never' : 'handover.services.count', { name, count })
  return say(last === null ? 'handover.services.never_of' : 'handover.services.of', { name, count, limit })
}

/** Where nobody has entered anything and nothing is due, that is all there is to say. */
const isUnused = (services: HandoverView['services']): boolean =>
  services.every(({ last, is_due }) => last === null && !is_due)

export const Services = ({ services, nameOf }: Pick<Common, 'nameOf'> & Pick<HandoverView, 'services'>) => (
  <section aria-labelledby="services">
    <h2 id="services">{say('handover.services')}</h2>
    {services.length === 0 && <p class="question">{say('handover.services.none')}</p>}
    <ul class="lines">
      {[...Map.groupBy(services, ({ unwind }) => unwind)].map(([unwind, own]) => (
        <li key={unwind}>
          <strong>{nameOf(unwind)}:</strong>{' '}
          {isUnused(own)
            ? say('handover.services.nothing', { count: own[0]?.splices ?? 0 })
            : own.map((service, index) => (
                <span key={service.item} class={service.is_due ? 'is-due' : ''}>
                  {index > 0 && '; '}
                  {service.is_due && <Icon name="medium" />} {countText(service)}
                </span>
              ))}
        </li>
      ))}
    </ul>
  </section>
)

/** Newest first. A setting that was changed again and again is one line, at its last time. */
const together = (changes: HandoverView['changes']): HandoverView['changes'][] => {
  const nameOfChange = ({ id, kind, unwind, subject, side }: HandoverView['changes'][number]): string =>
    kind === 'setting' ? JSON.stringify([unwind, subject, side]) : id
  return [...Map.groupBy(changes, nameOfChange).values()]
}

export const Changes = ({ changes, services, nameOf, zone }: Common & Pick<HandoverView, 'changes' | 'services'>) => (
  <section aria-labelledby="changes">
    <h2 id="changes">{say('handover.changes')}</h2>
    {changes.length === 0 && <p class="question">{say('handover.changes.none')}</p>}
    <ul class="lines">
      {together(shownLog(changes)).map((same) => {
        const entry = same[0]!
        return (
          <li key={entry.id}>
            {minutesWithZone(Date.parse(entry.time), zone)} {nameOf(entry.unwind)}:{' '}
            {same.length > 1 ? settingOften(same) : <EntryWords entry={entry} services={services} zone={zone} />}
            {entry.person !== null && <span class="question"> {entry.person}</span>}
          </li>
        )
      })}
    </ul>
  </section>
)
