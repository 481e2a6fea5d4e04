/**
 * The web still to come, laid out in time from now to the right: the old roll's web, each joint as wide as its 80 % interval,
 * then the next roll's, which is there only when it is ready. Before each joint stands the stretch in which its roll has to be
 * made ready, the next one's in stages that are filled in as they are done, and the fill.
 */
import type { PreparationView } from '../../edge/api/messages-entries.ts'
import { say } from '../messages.ts'
import type { TimeAxis } from './time-axis.ts'

/** Time left to a cycle, and its interval, s. */
export interface Joint {
  seconds: number
  low: number
  high: number
}

export interface WebStripProps {
  axis: TimeAxis
  /** In order; the first is the next. */
  joints: readonly Joint[]
  fillLead: number
  preparation: number
  stages: PreparationView['stages']
  isReady: boolean
  /** Time until a mark inside the running roll comes, s; null where there is none. */
  flagSeconds: number | null
  /** Whether a text has room in so many percent of the strip. */
  hasRoom: (text: string, percent: number) => boolean
}

/** Just beyond the axis' end, where the strip is cut: nothing needs a place farther out. */
const BEYOND = 1.05

export const WebStrip = (props: WebStripProps) => {
  const { axis, joints, fillLead, preparation, stages, isReady, flagSeconds, hasRoom } = props
  const percent = (s: number) => (Math.min(axis.rangeS * BEYOND, Math.max(0, s)) / axis.rangeS) * 100
  const between = (from: number, to: number) => ({
    left: `${percent(from).toFixed(2)}%`,
    width: `${Math.max(0, percent(to) - percent(from)).toFixed(2)}%`,
  })
  const seen = joints.filter((joint, index) => index === 0 || joint.low < axis.rangeS)
  return (
    <div class="strip" aria-hidden="true">
      {seen.map(({ seconds, low, high }, index) => {
        const begins = index === 0 ? 0 : (seen[index - 1]?.seconds ?? 0)
        const readyBy = Math.max(0, low - fillLead)
        const isThere = index === 0 || (index === 1 && isReady)
        return (
          <div class="strip-roll" key={index} data-there={isThere}>
            <i class="strip-web" style={between(begins, seconds)} />
            {fillLead > 0 && <i class="strip-fill" style={between(Math.max(begins, seconds - fillLead), seconds)} />}
            {readyBy > 0 && index === 0 && <Stages {...{ stages, preparation, readyBy, isReady, between, hasRoom }} />}
            {readyBy > 0 && index > 0 && <i class="strip-later" style={between(readyBy - preparation, readyBy)} />}
            <i class="strip-blur" style={between(low, high)} />
            <i class="strip-joint" style={{ left: `${percent(seconds).toFixed(2)}%` }} />
          </div>
        )
      })}
      {flagSeconds !== null && <i class="strip-flag" style={{ left: `${percent(flagSeconds).toFixed(2)}%` }} />}
      <i
        class="strip-web strip-last"
        data-there={isReady && seen.length === 1}
        style={between(seen.at(-1)?.seconds ?? 0, axis.rangeS)}
      />
    </div>
  )
}

interface StagesProps {
  stages: PreparationView['stages']
  preparation: number
  readyBy: number
  isReady: boolean
  between: (from: number, to: number) => { left: string; width: string }
  hasRoom: WebStripProps['hasRoom']
}

/** Stages end to end, the last one where the roll must be ready; without stages one stretch. */
const Stages = ({ stages, preparation, readyBy, isReady, between, hasRoom }: StagesProps) => {
  const timed = stages.filter(({ usual_seconds }) => usual_seconds > 0)
  if (timed.length === 0)
    return <i class="strip-stage" data-done={isReady} style={between(readyBy - preparation, readyBy)} />
  let from = readyBy - timed.reduce((sum, { usual_seconds }) => sum + usual_seconds, 0)
  return (
    <>
      {timed.map(({ stage, usual_seconds, done_at }) => {
        const begins = from
        from += usual_seconds
        const [place, name] = [between(begins, from), say(`stage.${stage}`)]
        return (
          <i key={stage} class="strip-stage" data-stage={stage} data-done={isReady || done_at !== null} style={place}>
            {/* A word that is cut is read as another one. */}
            {hasRoom(name, Number.parseFloat(place.width)) && <span>{name}</span>}
          </i>
        )
      })}
    </>
  )
}
