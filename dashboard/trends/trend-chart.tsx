/** One metric over the newest splices: every splice a dot, the band where nearly all lie, and letters for what was done. */
import type { TrendChartView, TrendView } from '../../edge/trend-views.ts'
import { Icon } from '../frame/icons.tsx'
import { say } from '../messages.ts'
import { spanLabels } from '../times.ts'
import { metricInWords, metricUnit, tickFigures, trendInWords } from './figures.ts'
import {
  areFew,
  crossesPath,
  dotsPath,
  geometryOf,
  HEIGHT,
  linePath,
  type Mark,
  markLabels,
  PLOT,
  SMOOTHED,
  smoothed,
  WIDTH,
} from './trend-geometry.ts'

export interface TrendChartProps {
  chart: TrendChartView
  trend: TrendView | undefined
  marks: readonly Mark[]
  zone: string
  isWatched: boolean
}

const Plot = ({ chart, marks, zone }: Pick<TrendChartProps, 'chart' | 'marks' | 'zone'>) => {
  const { metric, points, usual, low, high } = chart
  const { x, y, ticks } = geometryOf(chart)
  const tickWords = tickFigures(metric, ticks)
  const sides = [...new Set(points.map(({ side }) => side))].sort()
  const dots = points.map(({ adjusted, side }, i) => ({ x: x(i), y: y(adjusted), side }))
  const line = smoothed(points.map(({ adjusted }) => adjusted))
    .map((value, i) => ({ x: x(i), y: y(value) }))
    .slice(SMOOTHED >> 1)
  const [first, last] = [points[0], points.at(-1)]
  const [from, to] = spanLabels(Date.parse(first?.time ?? ''), Date.parse(last?.time ?? ''), zone)
  return (
    <svg
      viewBox={`0 0 ${WIDTH} ${HEIGHT}`}
      role="img"
      aria-label={say('trends.chart', { metric: say(`trend.${metric}`) })}
    >
      {low !== null && high !== null && (
        <rect
          class="band"
          x={PLOT.left}
          width={PLOT.right - PLOT.left}
          y={y(high)}
          height={Math.max(0, y(low) - y(high))}
        />
      )}
      {ticks.map((tick, index) => (
        <g key={tick}>
          <path class="grid" d={`M${PLOT.left} ${y(tick).toFixed(1)}H${PLOT.right}`} />
          <text class="tick" x={PLOT.left - 6} y={y(tick) + 4} text-anchor="end">
            {tickWords[index]}
          </text>
        </g>
      ))}
      {usual !== null && <path class="usual" d={`M${PLOT.left} ${y(usual).toFixed(1)}H${PLOT.right}`} />}
      <g class={areFew(points) ? 'few' : ''}>
        {sides.map((side, index) => {
          const own = dots.filter((dot) => dot.side === side)
          return index % 2 === 0 ? (
            <path key={side} class="dots" d={dotsPath(own)} />
          ) : (
            <path key={side} class="crosses" d={crossesPath(own, areFew(points) ? 6 : 4.4)} />
          )
        })}
      </g>
      <path class="middle" d={linePath(line)} />
      {marks.map(({ index, entry }) => (
        <path
          key={entry.id}
          class={`mark mark-${entry.kind}`}
          d={`M${x(index).toFixed(1)} ${PLOT.top - 2}V${PLOT.bottom}`}
        />
      ))}
      {markLabels(marks, x).map((label) => (
        <text key={label.text} class="mark-letter" x={label.x} y={PLOT.top - 6} text-anchor="middle">
          {label.text}
        </text>
      ))}
      <text class="tick" x={PLOT.left} y={HEIGHT - 6}>
        {from}
      </text>
      <text class="tick" x={PLOT.right} y={HEIGHT - 6} text-anchor="end">
        {to}
      </text>
    </svg>
  )
}

export const TrendChart = ({ chart, trend, marks, zone, isWatched }: TrendChartProps) => {
  const { metric, usual } = chart
  const words =
    trend !== undefined
      ? trendInWords(trend)
      : usual === null || !isWatched
        ? say('trends.learning')
        : say('trends.usual', { usual: metricInWords(metric, usual) })
  return (
    <figure class="trend" data-metric={metric} data-drifts={trend !== undefined}>
      <figcaption>
        <h3>
          {trend !== undefined && <Icon name="medium" />}
          {say(`trend.${metric}`)} <span class="unit">{metricUnit(metric)}</span>
        </h3>
        <p>{words}</p>
      </figcaption>
      <Plot chart={chart} marks={marks} zone={zone} />
    </figure>
  )
}
