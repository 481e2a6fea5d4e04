/** One unwind on the wall, in the order in which it is asked about: machine and side, verb, time left, ready, festoon, what is wrong. */
import type { UnwindView } from '../../edge/api/messages.ts'
import { Festoon } from '../charts/festoon.tsx'
import { Roll, rollScaleMm } from '../charts/roll.tsx'
import type { TimeAxis } from '../charts/time-axis.ts'
import { WebStrip } from '../charts/web-strip.tsx'
import { Icon, type IconName } from '../frame/icons.tsx'
import type { Shown } from '../live/countdown.ts'
import { say } from '../messages.ts'
import { speedAtMost } from '../units.ts'
import { Fit } from './fit.tsx'
import { type FestoonWords, festoonWords, type Instruction, instructionFor, readinessOf } from './instruction.ts'
import { LaneActions } from './lane-actions.tsx'
import { TimeLeft, TimeNotes } from './time-left.tsx'
import type { WallLayout } from './use-wall.ts'

export interface LaneProps {
  view: UnwindView
  shown: Shown | undefined
  /** Time left between the steps, for drawing, s. */
  seconds: number | undefined
  axis: TimeAxis
  /** The largest diameter seen on this unwind, mm: sets the scale of the roll. */
  largestMm: number
  layout: WallLayout
  lostSince: string | undefined
  serverTMs: number | undefined
  zone: string
  /** This lane is the one that needs hands next. */
  isNext: boolean
}

const READY_ICON = { yes: 'tick', no: 'ring', unknown: 'question' } as const satisfies Record<string, IconName>

const calmIcon = (view: UnwindView, isLive: boolean): IconName => {
  if (!isLive || view.state === 'unknown') return 'question'
  if (view.state === 'splicing') return 'joint'
  return view.state === 'standing' ? 'pause' : READY_ICON[readinessOf(view)]
}

/** With no live data nothing may be told to do from old data, except to look. */
const NO_DATA = (): Instruction => ({
  verb: say('verb.no_data'),
  tone: 'calm',
  wrong: undefined,
  alarm: undefined,
  isAcknowledged: false,
  more: 0,
})

const Wrong = ({ instruction }: { instruction: Instruction }) =>
  instruction.wrong === undefined ? null : (
    <Fit class="wrong" part="wrong">
      {instruction.wrong}
      {instruction.more > 0 && ` ${say('alarm.more', { count: instruction.more })}`}
    </Fit>
  )

const FestoonFact = ({ words }: { words: FestoonWords }) => (
  <Fit class={`festoon-words ${words.isShort ? 'is-short' : ''}`} part="festoon">
    {words.isShort && <Icon name="medium" />}
    {words.isShort ? ` ${words.head}` : words.head}
    {words.tail !== '' && `, ${words.tail}`}
  </Fit>
)

export const Lane = (props: LaneProps) => {
  const { view, layout, lostSince, axis, seconds } = props
  const isLive = lostSince === undefined
  const instruction = isLive ? instructionFor(view) : NO_DATA()
  const readiness = readinessOf(view)
  const festoon = isLive ? festoonWords(view) : undefined
  const isWordy = layout.isCards || layout.hasDetailRow
  const icon = instruction.tone === 'calm' ? calmIcon(view, isLive) : instruction.tone
  const { seconds_low: low, seconds_high: high } = view
  const shift = seconds === undefined || view.seconds_to_splice === null ? 0 : seconds - view.seconds_to_splice
  return (
    <li
      class="lane"
      data-unwind={view.unwind}
      data-tone={instruction.tone}
      data-acknowledged={instruction.isAcknowledged}
      data-next={props.isNext}
      data-live={isLive}
      aria-label={view.name}
    >
      <div class="lane-art">
        <Roll
          diameter={isLive ? view.diameter : null}
          core={view.core_diameter}
          splice={view.splice_diameter}
          scaleMm={rollScaleMm(props.largestMm)}
        />
        {view.buffer !== null && (
          <div class="festoon-box">
            <Festoon buffer={view.buffer} stored={isLive ? view.buffer_stored : null} needed={view.buffer_needed} />
            {festoon !== undefined && !isWordy && instruction.wrong !== undefined && (
              <div class="near festoon-label" data-part="festoon">
                {festoon.isShort ? festoon.head : festoon.tail}
              </div>
            )}
          </div>
        )}
      </div>
      <h2>
        <Fit part="name">
          {view.name}
          {view.active_spindle !== null && <span class="side"> {view.active_spindle}</span>}
        </Fit>
      </h2>
      <div class="lane-time">
        <TimeLeft view={view} shown={props.shown} lostSince={lostSince} />
        <div class="near lane-near">
          <TimeNotes
            view={view}
            shown={props.shown}
            lostSince={lostSince}
            serverTMs={props.serverTMs}
            zone={props.zone}
          />
          <LaneActions view={view} instruction={instruction} isLive={isLive} />
        </div>
      </div>
      <div class="lane-do">
        <Icon name={icon} />
        <Fit class="verb" part="verb">
          {instruction.verb}
        </Fit>
        {!isWordy && (instruction.wrong !== undefined ? <Wrong instruction={instruction} /> : null)}
        {!isWordy && instruction.wrong === undefined && festoon !== undefined && <FestoonFact words={festoon} />}
      </div>
      {isWordy && (
        <div class="lane-facts">
          <Wrong instruction={instruction} />
          {isLive && instruction.alarm?.alarm !== 'roll_not_ready' && (
            <Fit class="readiness" part="ready">
              <Icon name={READY_ICON[readiness]} />
              {` ${say(`ready.${readiness}`)}`}
            </Fit>
          )}
          {festoon !== undefined && <FestoonFact words={festoon} />}
          {layout.isCards && festoon?.isShort === true && view.safe_speed !== null && (
            <span>{say('festoon.highest_speed', { speed: speedAtMost(view.safe_speed) })}</span>
          )}
        </div>
      )}
      {(layout.isCards || layout.hasTextRow) && isLive && (instruction.alarm !== undefined || view.reason !== null) && (
        <p class="near lane-text">{instruction.alarm?.text ?? view.reason}</p>
      )}
      <div class="lane-strip">
        {isLive && seconds !== undefined && low !== null && high !== null && (
          <WebStrip
            axis={axis}
            seconds={seconds}
            low={low + shift}
            high={high + shift}
            fillLead={view.fill_lead_seconds}
            preparation={view.preparation_seconds}
            isReady={view.new_roll_ready === true}
          />
        )}
      </div>
    </li>
  )
}
