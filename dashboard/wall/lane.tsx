/** One unwind on the wall, in the order in which it is asked about: machine and side, verb, time left, ready, festoon. */

import type { UnwindView } from '../../edge/api/messages.ts'
import { Festoon } from '../charts/festoon.tsx'
import { Roll, rollScaleMm } from '../charts/roll.tsx'
import type { TimeAxis } from '../charts/time-axis.ts'
import { type Joint, WebStrip } from '../charts/web-strip.tsx'
import { reasonText } from '../daemon-words.ts'
import { Icon, type IconName } from '../frame/icons.tsx'
import { Link } from '../frame/link.tsx'
import type { Shown } from '../live/countdown.ts'
import { isThreading } from '../live/line-state.ts'
import { say } from '../messages.ts'
import { type Instruction, instructionFor, textOf } from './instruction.ts'
import { LaneActions } from './lane-actions.tsx'
import { type LaneItems, laneItems, READY_ICON } from './lane-items.ts'
import { readinessOf, readinessShown } from './lane-words.ts'
import { Row } from './row.tsx'
import type { Item } from './row-plan.ts'
import { textWidth } from './text-width.ts'
import { TimeLeft, TimeNotes } from './time-left.tsx'
import type { WallLayout } from './use-wall.ts'

export interface LaneProps {
  view: UnwindView
  shown: Shown | undefined
  /** The next joint and those behind it, for drawing. */
  joints: readonly Joint[] | undefined
  axis: TimeAxis
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
  if (view.state === 'no_roll') return 'ring'
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
  others: [],
})

const Art = ({ view, isLive }: { view: UnwindView; isLive: boolean }) => (
  <div class="lane-art">
    <Roll
      diameter={isLive ? view.diameter : null}
      core={view.core_diameter}
      splice={view.splice_diameter}
      scaleMm={rollScaleMm(view.full_diameter)}
    />
    {view.buffer !== null && (
      <Festoon buffer={view.buffer} stored={isLive ? view.buffer_stored : null} needed={view.buffer_needed} />
    )}
  </div>
)

/** The way to all that is known of an unwind; looks like what it is, a name. */
const Name = ({ view }: { view: UnwindView }) => (
  <h2>
    <Link to={{ page: 'unwind', id: view.unwind }} class="lane-link">
      {view.name}
      {view.active_spindle !== null && <span class="side"> {view.active_spindle}</span>}
    </Link>
  </h2>
)

const nameItem = ({ name, active_spindle: side }: UnwindView): Item => ({
  part: 'name',
  text: side === null ? name : `${name} ${side}`,
  isBig: true,
  isBold: true,
  isLead: true,
  rank: 0,
})

export const Lane = (props: LaneProps) => {
  const { view, layout, lostSince, axis, joints, shown, serverTMs, zone, turn } = props
  const isLive = lostSince === undefined
  const instruction = isLive ? instructionFor(view, props.isAborted) : NO_DATA()
  const text = textOf(instruction.alarm) ?? reasonText(view)
  const icon = instruction.tone === 'calm' ? calmIcon(view, isLive) : instruction.tone
  const items = laneItems({ view, instruction, icon, shown, serverTMs, zone })
  const told = isLive ? items : { ...items, top: [], facts: [], far: [] }
  const rows = { view, layout, turn, items: told }
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
      {layout.isCards ? <CardRows {...rows} /> : layout.isOneLine ? <OneRow {...rows} /> : <TwoRows {...rows} />}
      <div class="lane-time">
        <TimeLeft view={view} shown={shown} lostSince={lostSince} />
      </div>
      <div class="lane-side">
        <Art view={view} isLive={isLive} />
        <div class="lane-near">
          <TimeNotes view={view} shown={shown} lostSince={lostSince} serverTMs={serverTMs} zone={zone} />
          <LaneActions view={view} instruction={instruction} isLive={isLive} isInHand={layout.isCards} />
        </div>
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
            isReady={readinessShown(view) === 'yes'}
            flagSeconds={view.next_flag?.seconds ?? null}
            hasRoom={(text, percent) =>
              textWidth(text, layout.labelPx, false) + 0.6 * layout.labelPx <= (percent / 100) * layout.doPx
            }
          />
        )}
      </div>
    </li>
  )
}

interface RowsProps {
  view: UnwindView
  layout: WallLayout
  turn: number
  items: LaneItems
}

/** Who, and what is new of it; then what to do, ready, festoon. What is said from far off stands where there is room for it. */
const TwoRows = ({ view, layout, turn, items }: RowsProps) => {
  const { top, verb, facts, far } = items
  const common = { turn, fonts: layout }
  const [besideName, besideFacts] = layout.hasDetailRow ? [[], []] : placesOfFar(far)
  const draw = ({ part }: Item) => (part === 'name' ? <Name view={view} /> : undefined)
  return (
    <>
      <Row
        {...common}
        class="lane-top"
        items={[nameItem(view), ...top, ...besideName]}
        roomPx={layout.namePx}
        draw={draw}
      />
      <Row {...common} class="lane-do" items={[verb, ...facts, ...besideFacts]} roomPx={layout.doPx} />
      {layout.hasDetailRow && <Row {...common} class="lane-facts" items={far} roomPx={layout.doPx} />}
    </>
  )
}

/** Times of day stand near the time, the next roll near what is to be done with it. */
const placesOfFar = (far: readonly Item[]): [Item[], Item[]] => [
  far.filter(({ part }) => !part.startsWith('next-')),
  far.filter(({ part }) => part.startsWith('next-')),
]

const OneRow = ({ view, layout, turn, items: { top, verb, facts, far } }: RowsProps) => {
  const common = { turn, fonts: layout }
  return (
    <>
      <Row
        {...common}
        class="lane-top"
        items={[nameItem(view)]}
        roomPx={layout.namePx}
        draw={() => <Name view={view} />}
      />
      <Row {...common} class="lane-do" items={[verb]} roomPx={layout.doPx} />
      <Row {...common} class="lane-facts" items={[...top, ...facts, ...far]} roomPx={layout.factsPx} />
    </>
  )
}

/** In the hand there is room below: one thing a line, and letters that wrap. */
const CardRows = ({ view, items: { top, verb, facts, far } }: RowsProps) => (
  <>
    <div class="lane-top" data-part="name">
      <Name view={view} />
    </div>
    <div class="lane-do" data-part="verb">
      {verb.icon !== undefined && <Icon name={verb.icon} />}
      {verb.text}
    </div>
    <div class="lane-facts">
      {[...facts, ...top, ...far].map(({ part, text, icon, isBold, isSoft }) => (
        <div
          class="item"
          key={part}
          data-part={part}
          data-soft={isSoft === true}
          style={isBold === true ? { fontWeight: 'bold' } : {}}
        >
          {icon !== undefined && <Icon name={icon} />}
          {text}
        </div>
      ))}
    </div>
  </>
)
