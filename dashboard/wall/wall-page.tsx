/** The wall: which machine and side needs hands next, what to do, how long there is. */
import { useEffect, useRef, useState } from 'preact/hooks'
import { AxisMarks } from '../charts/axis-marks.tsx'
import { chooseAxis, endOf, type TimeAxis } from '../charts/time-axis.ts'
import { Icon } from '../frame/icons.tsx'
import { useStore, useTicks } from '../frame/live-context.ts'
import { isThreading } from '../live/line-state.ts'
import { serverNow } from '../live/state.ts'
import { say } from '../messages.ts'
import { clockWithZone } from '../times.ts'
import { abortedUnwinds } from './aborted.ts'
import { Counting } from './counting.ts'
import { useKeptFocus } from './keep-focus.ts'
import { Lane } from './lane.tsx'
import { ROW_PITCH } from './legibility.ts'
import { orderLanes, toPages } from './order.ts'
import { useRenewal } from './renewal.ts'
import { useStayAwake } from './stay-awake.ts'
import { isWrongRoll } from './trouble.ts'
import { useWall, type WallLayout } from './use-wall.ts'

/** How long one page stays, ms: long enough to walk a look along it. */
const PAGE_FOR_MS = 12_000
/** How long what takes turns in a place stays, ms. */
const FACT_FOR_MS = 6000
/** Who asked for reduced motion sees the drawing step once a second, not glide. */
const wantsStillness = matchMedia('(prefers-reduced-motion: reduce)')

/** Everything that has to be remembered between two drawings. */
interface Memory {
  counting: Counting
  order: string[]
  axis: TimeAxis | undefined
}

const usePage = (pages: number): { page: number; isHeld: boolean; hold: (held: boolean) => void } => {
  const [page, setPage] = useState(0)
  const [isHeld, hold] = useState(false)
  useEffect(() => {
    if (pages < 2 || isHeld) return
    const timer = setInterval(() => setPage((before) => before + 1), PAGE_FOR_MS)
    return () => clearInterval(timer)
  }, [pages, isHeld])
  return { page: pages === 0 ? 0 : page % pages, isHeld, hold }
}

/** What the style sheet has to know of the layout. */
const styleOf = (layout: WallLayout | undefined, rows: number): Record<string, string | number> => {
  const isCards = layout?.isCards === true
  const px = (value: number | undefined) => `${(value ?? 100).toFixed(1)}px`
  return {
    '--big': isCards ? '30px' : px(layout?.bigPx),
    '--mid': isCards ? '20px' : px(layout?.midPx),
    '--row': ROW_PITCH,
    '--rows': rows,
    '--art': px(layout?.artPx),
    '--gap': px(layout?.gapPx),
    '--time': px(layout?.timePx),
    '--near-wide': px(layout?.nearPx),
    '--name': px(layout?.namePx),
    '--do': px(layout?.doPx),
    '--facts': px(layout?.factsPx),
    '--near-font': px(layout?.nearFontPx),
    '--touch': px(layout?.touchPx ?? 0),
  }
}

export const WallPage = () => {
  const { state, freshness, nowMs } = useTicks()
  useStayAwake()
  useRenewal(state.build)
  const box = useRef<HTMLUListElement | null>(null)
  const { countdowns } = useStore()
  const [memory] = useState<Memory>(() => ({
    counting: new Counting(countdowns),
    order: [],
    axis: undefined,
  }))
  const layout = useWall(box, state.health?.wall, state.unwinds.length)
  const zone = state.health?.time_zone ?? 'UTC'

  const isLost = freshness === 'lost' && state.serverTMs !== undefined
  const lostSince = isLost ? say('time.no_data_since', { time: clockWithZone(state.serverTMs ?? 0, zone) }) : undefined
  // On dead data nothing moves, not even places.
  const lanes = isLost
    ? memory.order.flatMap((unwind) => state.unwinds.filter((view) => view.unwind === unwind))
    : orderLanes(state.unwinds, memory.order)
  memory.order = lanes.map((view) => view.unwind)
  // At threading speed a roll lasts for hours: nothing of it is drawn, and it would press the others together.
  const ends = lanes.map((view) => (isThreading(view) ? 0 : endOf(view)))
  const axis = chooseAxis(ends, memory.axis, nowMs)
  // While nothing is counted there is no axis that anybody is used to.
  memory.axis = ends.every((end) => end === 0) ? undefined : axis

  const perPage = layout === undefined || layout.isCards ? Math.max(1, lanes.length) : layout.perPage
  const pages = toPages(lanes, perPage)
  const { page, isHeld, hold } = usePage(pages.length)
  const serverTMs = serverNow(state, nowMs)
  memory.counting.begin(axis, nowMs, serverTMs, wantsStillness.matches)
  const turn = Math.floor((serverTMs ?? 0) / FACT_FOR_MS)
  const aborted = abortedUnwinds(state.splices)
  useKeptFocus(`${page} ${memory.order.join(' ')}`)
  const firstNeedy = lanes.find((view) => view.new_roll_ready !== true || isWrongRoll(view))?.unwind

  return (
    <main
      id="content"
      class={`wall ${layout?.isCards ? 'wall-cards' : 'wall-lanes'}`}
      tabIndex={-1}
      style={styleOf(layout, Math.min(perPage, Math.max(1, lanes.length)))}
      data-detail={layout?.hasDetailRow === true}
      data-line={layout?.isOneLine === true}
    >
      <h1 class="hidden">{say('page.wall')}</h1>
      {memory.counting.drawnTMs === undefined || isLost ? (
        <div class="axis near" />
      ) : (
        <AxisMarks axis={axis} tMs={memory.counting.drawnTMs} zone={zone} />
      )}
      <ul class="lanes" ref={box} aria-label={say('wall.list')}>
        {layout !== undefined &&
          (pages[page] ?? []).map((view) => {
            const { shown, joints } = memory.counting.count(state, view, nowMs)
            return (
              <Lane
                key={view.unwind}
                view={view}
                shown={shown}
                joints={joints}
                axis={axis}
                layout={layout}
                lostSince={lostSince}
                serverTMs={serverTMs}
                zone={zone}
                isNext={!isLost && view.unwind === firstNeedy}
                isAborted={aborted.has(view.unwind)}
                turn={turn}
              />
            )
          })}
      </ul>
      {state.unwinds.length === 0 && (
        <div class="empty">
          <p class="empty-head">{state.serverTMs === undefined ? say('app.loading') : say('wall.empty')}</p>
          {state.serverTMs !== undefined && <p>{say('wall.empty.do')}</p>}
        </div>
      )}
      {pages.length > 1 && (
        <div class="pager near">
          <span>{say('wall.page', { page: page + 1, pages: pages.length })}</span>
          <button type="button" onClick={() => hold(!isHeld)} aria-pressed={isHeld}>
            <Icon name={isHeld ? 'turn' : 'pause'} />
            {isHeld ? say('wall.resume') : say('wall.pause')}
          </button>
        </div>
      )}
    </main>
  )
}
