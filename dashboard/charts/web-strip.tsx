/**
 * The web still to come, laid out in time from now to the right: the old roll's web, the joint as wide as the 80 %
 * interval, then the new roll's, which is there only when it is ready. Before it, the stretch for preparing and the fill.
 */
import type { TimeAxis } from './time-axis.ts'

const WIDTH = 1000
const HEIGHT = 40
const WEB_TOP = 14
const WEB_HEIGHT = 12

export interface WebStripProps {
  axis: TimeAxis
  /** Time left to the cycle, and its interval, s. */
  seconds: number
  low: number
  high: number
  fillLead: number
  preparation: number
  isReady: boolean
  /** Unique in the page: names the gradient. */
  id: string
}

export const WebStrip = ({ axis, seconds, low, high, fillLead, preparation, isReady, id }: WebStripProps) => {
  const x = (s: number) => (Math.min(axis.rangeS * 1.05, Math.max(0, s)) / axis.rangeS) * WIDTH
  const joint = x(seconds)
  // A joint is never thinner than can be seen; its blur is the interval.
  const [blurFrom, blurTo] = [Math.min(x(low), joint - 3), Math.max(x(high), joint + 3)]
  const readyBy = Math.max(0, low - fillLead)
  const prepareFrom = x(readyBy - preparation)
  return (
    <svg class="strip" viewBox={`0 0 ${WIDTH} ${HEIGHT}`} preserveAspectRatio="none" aria-hidden="true">
      <defs>
        <linearGradient id={`blur-${id}`}>
          <stop offset="0" stop-color="currentColor" stop-opacity="0" />
          <stop offset="0.5" stop-color="currentColor" stop-opacity="1" />
          <stop offset="1" stop-color="currentColor" stop-opacity="0" />
        </linearGradient>
        <pattern id={`hatch-${id}`} width="8" height="8" patternUnits="userSpaceOnUse" patternTransform="skewX(-30)">
          <rect width="4" height="8" class="strip-hatch" />
        </pattern>
      </defs>
      <rect class="strip-web" x="0" y={WEB_TOP} width={joint} height={WEB_HEIGHT} />
      <rect
        class={isReady ? 'strip-new' : 'strip-missing'}
        x={joint}
        y={WEB_TOP}
        width={Math.max(0, WIDTH - joint)}
        height={WEB_HEIGHT}
      />
      {fillLead > 0 && (
        <rect
          class="strip-fill"
          x={x(seconds - fillLead)}
          y={WEB_TOP - 5}
          width={Math.max(0, joint - x(seconds - fillLead))}
          height={WEB_HEIGHT + 10}
        />
      )}
      {x(readyBy) > prepareFrom && (
        <rect
          class={isReady ? 'strip-prepared' : 'strip-prepare'}
          x={prepareFrom}
          y={2}
          width={x(readyBy) - prepareFrom}
          height={HEIGHT - 4}
          fill={isReady ? undefined : `url(#hatch-${id})`}
        />
      )}
      <rect class="strip-blur" x={blurFrom} y={0} width={blurTo - blurFrom} height={HEIGHT} fill={`url(#blur-${id})`} />
      <rect class="strip-joint" x={joint - 1.5} y={0} width={3} height={HEIGHT} />
    </svg>
  )
}
