/** What a person can do at one lane: acknowledge what stands, and say that the roll is ready where no tag does. */
import { useState } from 'preact/hooks'
import type { AlarmView, UnwindView } from '../../edge/api/messages.ts'
import { useCommands } from '../frame/commands.tsx'
import { Icon } from '../frame/icons.tsx'
import { say } from '../messages.ts'
import { clockMinutes } from '../times.ts'
import { type Instruction, shortAlarm } from './instruction.ts'
import { overTrouble, toAcknowledge } from './trouble.ts'

/** @param isInHand - names of people belong in the hand, not on the wall. */
const whoAndWhen = (alarm: AlarmView, zone: string, isInHand: boolean): string => {
  const time = clockMinutes(Date.parse(alarm.acknowledged ?? ''), zone)
  return !isInHand || alarm.acknowledged_by === null || alarm.acknowledged_by === ''
    ? say('alarm.acknowledged', { time })
    : say('alarm.acknowledged_by', { person: alarm.acknowledged_by, time })
}

export const LaneActions = ({
  view,
  instruction,
  isLive,
  isInHand,
}: {
  view: UnwindView
  instruction: Instruction
  isLive: boolean
  isInHand: boolean
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
        <span class="lane-seen" data-part="acknowledged">
          <Icon name="tick" />
          {whoAndWhen(seen, zone, isInHand)}
        </span>
      )}
      {open !== undefined && (
        <button
          type="button"
          disabled={isBusy}
          aria-label={say('alarm.acknowledge.label', { alarm: shortAlarm(open, view), unwind: view.name })}
          title={open.text}
          onClick={() => run(acknowledge(open))}
        >
          {say('alarm.acknowledge')}
        </button>
      )}
      {/* What stands in large letters is not said twice. */}
      {open !== undefined && open !== seen && open !== overTrouble(view)[0] && (
        <span class="lane-was">
          {open.cleared === null ? shortAlarm(open, view) : say('alarm.was', { alarm: shortAlarm(open, view) })}
        </span>
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
