/** One unwind on the wall, in the order in which it is asked about: machine and side, verb, time left, ready, festoon. */
import type { UnwindView } from '../../edge/api/messages.ts'
import { Festoon } from '../charts/festoon.tsx'
import { Roll, rollScaleMm } from '../charts/roll.tsx'
import type { TimeAxis } from '../charts/time-axis.ts'
import { type Joint, WebStrip } from '../charts/web-strip.tsx'
import { Icon, type IconName } from '../frame/icons.tsx'
import type { Shown } from '../live/countdown.ts'
import { isThreading } from '../live/line-state.ts'
import { say } from '../messages.ts'
import { Fit } from './fit.tsx'
import { type Instruction, instructionFor, textOf } from './instruction.ts'
import { LaneActions } from './lane-actions.tsx'
import { Beside, type FactsProps, FarFacts, FestoonFact, READY_ICON, Ready, Wrong } from './lane-facts.tsx'
import { readinessOf } from './lane-words.ts'
import { TimeLeft, TimeNotes } from './time-left.tsx'
import type { WallLayout } from './use-wall.ts'

export interface LaneProps {
  view: UnwindView
  shown: Shown | undefined
  /** The next joint and those behind it, for drawing. */
  joints: readonly Joint[] | undefined
  axis: TimeAxis
  /** The largest diameter seen on this unwind, mm: sets the scale of the roll. */
  largestMm: number
  layout: WallLayout
  lostSince: string | undefined
  serverTMs: number | undefined
  zone: string
  /** This lane is the one that needs hands next. */
  isNext: boolean
  /** The newest cycle was aborted. */
  isAborted: boolean
  /** Counts the turns of facts that share a place. */
  turn: number
}

const calmIcon = (view: UnwindView, isLive: boolean): IconName => {
  if (!isLive || view.state === 'unknown') return 'question'
  if (view.state === 'splicing') return 'joint'
  if (view.state === 'standing' || isThreading(view)) return 'pause'
  return READY_ICON[readinessOf(view)]
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

const Art = ({ view, isLive, largestMm }: { view: UnwindView; isLive: boolean; largestMm: number }) => (
  <div class="lane-art">
    <Roll
      diameter={isLive ? view.diameter : null}
      core={view.core_diameter}
      splice={view.splice_diameter}
      scaleMm={rollScaleMm(largestMm)}
    />
    {view.buffer !== null && (
      <Festoon buffer={view.buffer} stored={isLive ? view.buffer_stored : null} needed={view.buffer_needed} />
    )}
  </div>
)

/** Below the verb, where there is room: what is ready, and what is said from far off. */
const Facts = ({ facts, layout }: { facts: FactsProps; layout: WallLayout }) => {
  const { view, instruction } = facts
  const isWrong = instruction.wrong !== undefined
  if (!layout.isCards && !layout.hasDetailRow) return null
  return (
    <div class="lane-facts">
      {layout.isCards && <Wrong instruction={instruction} />}
      <Ready view={view} instruction={instruction} />
      {(layout.isCards || isWrong) && <FestoonFact view={view} />}
      {(layout.isCards || !isWrong) && <FarFacts {...facts} isCards={layout.isCards} />}
    </div>
  )
}

export const Lane = (props: LaneProps) => {
  const { view, layout, lostSince, axis, joints, shown, serverTMs, zone, turn } = props
  const isLive = lostSince === undefined
  const instruction = isLive ? instructionFor(view, props.isAborted) : NO_DATA()
  const text = textOf(instruction.alarm) ?? view.reason
  const facts: FactsProps = { view, instruction, shown, serverTMs, zone, turn }
  const icon = instruction.tone === 'calm' ? calmIcon(view, isLive) : instruction.tone
  return (
    <li
      class="lane"
      data-unwind={view.unwind}
      data-tone={instruction.tone}
      data-acknowledged={instruction.isAcknowledged}
      data-next={props.isNext}
      data-live={isLive}
      data-cycle={isLive && view.state === 'splicing'}
      aria-label={view.name}
    >
      <Art view={view} isLive={isLive} largestMm={props.largestMm} />
      <h2>
        <Fit part="name">
          {view.name}
          {view.active_spindle !== null && <span class="side"> {view.active_spindle}</span>}
        </Fit>
      </h2>
      <div class="lane-do">
        <Icon name={icon} />
        <Fit class="verb" part="verb">
          {instruction.verb}
        </Fit>
        {isLive && !layout.isCards && !layout.isOneLine && <Beside {...facts} layout={layout} />}
      </div>
      <div class="lane-time">
        <TimeLeft view={view} shown={shown} lostSince={lostSince} />
      </div>
      {isLive && layout.isOneLine && (
        <div class="lane-facts">
          <Beside {...facts} layout={layout} />
        </div>
      )}
      {isLive && <Facts facts={facts} layout={layout} />}
      <div class="near lane-near">
        <TimeNotes view={view} shown={shown} lostSince={lostSince} serverTMs={serverTMs} zone={zone} />
        <LaneActions view={view} instruction={instruction} isLive={isLive} isInHand={layout.isCards} />
      </div>
      {layout.isCards && isLive && text !== null && <p class="near lane-text">{text}</p>}
      <div class="lane-strip">
        {isLive && joints !== undefined && (
          <WebStrip
            axis={axis}
            joints={joints}
            fillLead={view.fill_lead_seconds}
            preparation={view.preparation_seconds}
            stages={view.preparation.stages}
            isReady={view.new_roll_ready === true}
          />
        )}
      </div>
    </li>
  )
}
