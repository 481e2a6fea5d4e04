/** The roll that runs, drawn to scale, with what was measured of it. */
import type { AdviceView, Estimate, UnwindView } from '../../edge/api/messages.ts'
import { Roll, rollScaleMm } from '../charts/roll.tsx'
import { Age } from '../frame/parts.tsx'
import { say } from '../messages.ts'
import { formatDiameter, formatLength, formatNumber } from '../units.ts'

const withDeviation = ({ value, deviation }: Estimate, decimals: number, unit: string): string =>
  `${formatNumber(value, decimals)} ± ${formatNumber(1.28 * deviation, decimals)} ${unit}`

/** Beyond this many standard deviations a difference is one. */
const SIGNIFICANT = 3

const Caliper = ({ caliper }: { caliper: NonNullable<AdviceView['caliper']> }) => {
  const { difference_percent: percent, significance } = caliper
  return (
    <>
      {withDeviation(caliper.measured, 1, say('unit.um'))}
      <small>
        {Math.abs(significance) < SIGNIFICANT
          ? say('roll.as_label', { label: formatNumber(caliper.label, 1) })
          : say(percent > 0 ? 'roll.thicker' : 'roll.thinner', {
              percent: formatNumber(Math.abs(percent), 1),
              label: formatNumber(caliper.label, 1),
            })}
      </small>
    </>
  )
}

export const RollNow = ({ view, advice }: { view: UnwindView; advice: AdviceView | undefined }) => (
  <section aria-labelledby="roll-now">
    <h2 id="roll-now">{say('roll.now')}</h2>
    <div class="roll-now">
      <Roll
        diameter={view.diameter}
        core={view.core_diameter}
        splice={view.splice_diameter}
        scaleMm={rollScaleMm(Math.max(view.diameter ?? 0, view.core_diameter * 2))}
      />
      <dl>
        <dt>{say('roll.diameter')}</dt>
        <dd>
          {formatNumber(view.diameter, 1)} {say('unit.mm')}
        </dd>
        <dt>{say('roll.left')}</dt>
        <dd>
          {formatLength(view.metres_to_splice)}
          {view.metres_low !== null && view.metres_high !== null && (
            <small>
              {say('roll.between', { low: formatNumber(view.metres_low, 0), high: formatLength(view.metres_high) })}
            </small>
          )}
        </dd>
        <dt>{say('roll.splice_at')}</dt>
        <dd>{formatDiameter(view.splice_diameter)}</dd>
        <dt>{say('roll.core')}</dt>
        <dd>{formatDiameter(view.core_diameter)}</dd>
        <dt>{say('roll.caliper')}</dt>
        <dd>{advice?.caliper == null ? say('roll.not_measured') : <Caliper caliper={advice.caliper} />}</dd>
        <dt>{say('roll.wave')}</dt>
        <dd>
          {advice?.out_of_round == null
            ? say('roll.not_measured')
            : withDeviation(advice.out_of_round.amplitude, 1, say('unit.mm'))}
          {advice?.out_of_round?.limit != null && (
            <small>{say('roll.wave.limit', { limit: formatNumber(advice.out_of_round.limit, 1) })}</small>
          )}
        </dd>
        {advice?.splice_diameter != null && (
          <>
            <dt>{say('roll.left_on_core')}</dt>
            <dd>
              {formatLength(advice.splice_diameter.left_on_core.metres)}
              <small>{say('roll.left_on_core.by', { setting: formatDiameter(advice.splice_diameter.setting) })}</small>
            </dd>
          </>
        )}
      </dl>
    </div>
    {advice !== undefined && <Age time={advice.time} />}
  </section>
)
