/**
 * The web still to come, laid out in time from now to the right: the old roll's web, the joint as wide as the 80 %
 * interval, then the new roll's, which is there only when it is ready. Before it, the stretch for preparing and the fill.
 */
import type { TimeAxis } from './time-axis.ts'

export interface WebStripProps {
  axis: TimeAxis
  /** Time left to the cycle, and its interval, s. */
  seconds: number
  low: number
  high: number
  fillLead: number
  preparation: number
  isReady: boolean
}

export const WebStrip = ({ axis, seconds, low, high, fillLead, preparation, isReady }: WebStripProps) => {
  const percent = (s: number) => (Math.min(axis.rangeS * 1.05, Math.max(0, s)) / axis.rangeS) * 100
  const between = (from: number, to: number) => ({
    left: `${percent(from).toFixed(3)}%`,
    width: `${Math.max(0, percent(to) - percent(from)).toFixed(3)}%`,
  })
  const readyBy = Math.max(0, low - fillLead)
  return (
    <div class="strip" aria-hidden="true">
      <i class="strip-web" style={between(0, seconds)} />
      <i class={isReady ? 'strip-new' : 'strip-missing'} style={between(seconds, axis.rangeS)} />
      {fillLead > 0 && <i class="strip-fill" style={between(seconds - fillLead, seconds)} />}
      {readyBy > 0 && (
        <i class={isReady ? 'strip-prepared' : 'strip-prepare'} style={between(readyBy - preparation, readyBy)} />
      )}
      <i class="strip-blur" style={between(low, high)} />
      <i class="strip-joint" style={{ left: `${percent(seconds).toFixed(3)}%` }} />
    </div>
  )
}
