/** A joint after its splice: when it was at each station, by web that really passed, and what became of it there. */
import { useState } from 'preact/hooks'
import type { JointAtStation, JointView } from '../../edge/joint-columns.ts'
import { useCommands } from '../frame/commands.tsx'
import { Icon } from '../frame/icons.tsx'
import { Link } from '../frame/link.tsx'
import { useLiveValue } from '../frame/live-context.ts'
import { say } from '../messages.ts'
import { clockWithZone } from '../times.ts'
import { figureOf, formatQuantity, unitOf } from '../units.ts'
import '../styles/joints.css'

const ICONS = { due: 'joint', passed: 'tick', out: 'tick', unconfirmed: 'medium' } as const

const stateInWords = ({ state, takes_out, out_by }: JointAtStation): string => {
  if (state === 'passed' && takes_out) return say('joint.state.to_confirm')
  if (state === 'out' && out_by !== null && out_by !== '') return say('joint.state.out_by', { person: out_by })
  return say(`joint.state.${state}`)
}

const TakenOut = ({ joint, station }: { joint: JointView; station: JointAtStation }) => {
  const { send } = useCommands()
  const [isBusy, setBusy] = useState(false)
  if (!station.takes_out || station.state === 'due' || station.state === 'out') return null
  const path = `api/unwinds/${encodeURIComponent(joint.unwind)}/joints/${encodeURIComponent(joint.id)}/out`
  return (
    <button
      type="button"
      class="big"
      disabled={isBusy}
      onClick={() => {
        setBusy(true)
        void send(path, { station: station.station }).finally(() => setBusy(false))
      }}
    >
      {say('joint.take_out', { station: station.station })}
    </button>
  )
}

const FinishedRoll = ({ station: { finished_roll, finished_roll_metres } }: { station: JointAtStation }) => {
  const roll = finished_roll ?? ''
  const words =
    finished_roll_metres === null
      ? say('joint.finished_roll.not_known', { roll })
      : say('joint.finished_roll', { roll, length: formatQuantity(finished_roll_metres, 'length', 0) })
  return (
    <>
      {' '}
      <Link to={{ page: 'finished_rolls', query: new URLSearchParams({ roll }).toString() }}>{words}</Link>
    </>
  )
}

const Stations = ({ joint, zone, isLive }: { joint: JointView; zone: string; isLive: boolean }) => (
  <table class="joint-stations">
    <thead>
      <tr>
        <th scope="col">{say('joint.station')}</th>
        <th scope="col">{say('joint.what')}</th>
        <th scope="col">{say('joint.arrived')}</th>
        {isLive && (
          <th scope="col" class="number">
            {say('joint.metres')} <span class="unit">{unitOf('length')}</span>
          </th>
        )}
      </tr>
    </thead>
    <tbody>
      {joint.stations.map((station) => (
        <tr key={station.station} data-state={station.state}>
          <th scope="row">{station.station}</th>
          <td>
            <Icon name={ICONS[station.state]} /> {stateInWords(station)}
            {station.finished_roll !== null && <FinishedRoll station={station} />}
          </td>
          <td>{station.arrived === null ? say('value.unknown') : clockWithZone(Date.parse(station.arrived), zone)}</td>
          {isLive && (
            <td class="number">
              {station.state === 'due'
                ? `${figureOf(station.metres, 'length', 1)} ± ${figureOf(station.metres_deviation, 'length', 1)}`
                : say('value.unknown')}
            </td>
          )}
        </tr>
      ))}
    </tbody>
  </table>
)

const Remarks = ({ joint, zone }: { joint: JointView; zone: string }) => {
  const { broke, side_lay: lay, register } = joint
  return (
    <>
      {broke !== null && (
        <p>
          {broke.at_joint
            ? say('joint.broke.at', {
                time: clockWithZone(Date.parse(broke.time), zone),
                station: broke.station === 'splicer' ? say('joint.splicer') : (broke.station ?? ''),
              })
            : say('joint.broke.elsewhere', { time: clockWithZone(Date.parse(broke.time), zone) })}
        </p>
      )}
      {lay !== null && (
        <p>
          {say('joint.side_lay', {
            step: formatQuantity(lay.step, 'diameter', 1),
            before: formatQuantity(lay.before, 'diameter', 1),
            after: formatQuantity(lay.after, 'diameter', 1),
          })}
          {lay.reason !== null && ` ${say(`joint.side_lay.${lay.reason}`)}`}
        </p>
      )}
      {register !== null && (
        <p>
          {register.metres === null
            ? say('joint.register.not_back', { error: formatQuantity(register.error, 'diameter', 1) })
            : say('joint.register', {
                error: formatQuantity(register.error, 'diameter', 1),
                length: formatQuantity(register.metres, 'length', 1),
                repeats: register.repeats ?? 0,
              })}
        </p>
      )}
    </>
  )
}

/** @param isLive - the joints are on their way now: how far each is from its stations is told too. */
export const JointSection = ({ joints, isLive }: { joints: readonly JointView[]; isLive: boolean }) => {
  const zone = useLiveValue((store) => store.state.health?.time_zone ?? 'UTC')
  if (joints.length === 0) return null
  return (
    <section class="joint" aria-labelledby="joints-here">
      <h2 id="joints-here">{say(isLive ? 'joint.on_the_way' : 'joint.afterwards')}</h2>
      {joints.map((joint) => (
        <div key={joint.id}>
          {isLive && <h3>{say('joint.of', { time: clockWithZone(Date.parse(joint.made), zone) })}</h3>}
          {joint.stations.length > 0 && <Stations joint={joint} zone={zone} isLive={isLive} />}
          <Remarks joint={joint} zone={zone} />
          {joint.stations.map((station) => (
            <TakenOut key={station.station} joint={joint} station={station} />
          ))}
        </div>
      ))}
      <p class="soft">{say('joint.information')}</p>
    </section>
  )
}
