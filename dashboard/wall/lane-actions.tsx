/** What a person can do at one lane: acknowledge what stands, and say that the roll is ready where no tag does. */
import { useState } from 'preact/hooks'
import type { AlarmView, UnwindView } from '../../edge/api/messages.ts'
import { useCommands } from '../frame/commands.tsx'
import { Icon } from '../frame/icons.tsx'
import { say } from '../messages.ts'
import { clockMinutes } from '../times.ts'
import { type Instruction, shortAlarm } from './instruction.ts'
import { standingTrouble, unseenTrouble } from './trouble.ts'

/** The alarm that a click would acknowledge: what stands first, then what is over and was not seen. */
const toAcknowledge = (view: UnwindView): AlarmView | undefined =>
  standingTrouble(view).find((alarm) => alarm.acknowledged === null) ?? unseenTrouble(view)[0]

const whoAndWhen = (alarm: AlarmView, zone: string): string => {
  const time = clockMinutes(Date.parse(alarm.acknowledged ?? ''), zone)
  return alarm.acknowledged_by === null || alarm.acknowledged_by === ''
    ? say('alarm.acknowledged', { time })
    : say('alarm.acknowledged_by', { person: alarm.acknowledged_by, time })
}

export const LaneActions = ({
  view,
  instruction,
  isLive,
}: {
  view: UnwindView
  instruction: Instruction
  isLive: boolean
}) => {
  const { acknowledge, setReady, zone } = useCommands()
  const [isBusy, setBusy] = useState(false)
  if (!isLive) return null
  const run = (command: Promise<void>) => {
    setBusy(true)
    void command.finally(() => setBusy(false))
  }
  const open = toAcknowledge(view)
  const seen = instruction.alarm
  return (
    <div class="lane-actions">
      {seen !== undefined && seen.acknowledged !== null && (
        <span class="lane-seen" data-part="acknowledged" title={whoAndWhen(seen, zone)}>
          <Icon name="tick" />
          <span class="hidden">{whoAndWhen(seen, zone)}</span>
          <span aria-hidden="true">
            {seen.acknowledged_by} {clockMinutes(Date.parse(seen.acknowledged), zone)}
          </span>
        </span>
      )}
      {open !== undefined && (
        <button
          type="button"
          disabled={isBusy}
          aria-label={say('alarm.acknowledge.label', { alarm: shortAlarm(open), unwind: view.name })}
          title={open.text}
          onClick={() => run(acknowledge(open))}
        >
          {say('alarm.acknowledge')}
        </button>
      )}
      {open !== undefined && open.cleared !== null && (
        <span class="lane-was">{say('alarm.was', { alarm: shortAlarm(open) })}</span>
      )}
      {view.ready_by_hand && (
        <button
          type="button"
          disabled={isBusy}
          aria-pressed={view.new_roll_ready === true}
          onClick={() => run(setReady(view.unwind, view.new_roll_ready !== true))}
        >
          {view.new_roll_ready === true ? say('ready.unmark') : say('ready.mark')}
        </button>
      )}
    </div>
  )
}
