/** The roll that runs, drawn to scale, with what was measured of it. */
import type { AdviceView, Estimate, UnwindView } from '../../edge/api/messages.ts'
import { Roll, rollScaleMm } from '../charts/roll.tsx'
import { Age } from '../frame/parts.tsx'
import { say } from '../messages.ts'
import { figureOf, formatDiameter, formatLength, formatNumber, formatQuantity, type Quantity } from '../units.ts'

/** With half of its central 80 % interval. */
const withDeviation = ({ value, deviation }: Estimate, quantity: Quantity): string =>
  `${figureOf(value, quantity, 1)} ± ${formatQuantity(Z80 * deviation, quantity, 1)}`

/** Standard deviations from the middle to the end of the central 80 % interval of a normal distribution. */
const Z80 = 1.2816

/** Beyond this many standard deviations a difference is one; within the interval that stands there it is none. */
const SIGNIFICANT = 3

/** What the measured thickness says of the label's: the same, perhaps another, another. */
const againstLabel = ({ difference_percent: percent, significance, label }: NonNullable<AdviceView['caliper']>) => {
  const words = { percent: formatNumber(Math.abs(percent), 1), label: formatQuantity(label, 'thickness', 1) }
  const direction = percent > 0 ? 'thicker' : 'thinner'
  if (Math.abs(significance) < Z80) return say('roll.as_label', words)
  return say(Math.abs(significance) < SIGNIFICANT ? `roll.${direction}.perhaps` : `roll.${direction}`, words)
}

const Caliper = ({ caliper }: { caliper: NonNullable<AdviceView['caliper']> }) => (
  <>
    {withDeviation(caliper.measured, 'thickness')}
    <small>{againstLabel(caliper)}</small>
  </>
)

export const RollNow = ({ view, advice }: { view: UnwindView; advice: AdviceView | undefined }) => (
  <section aria-labelledby="roll-now">
    <h2 id="roll-now">{say('roll.now')}</h2>
    <div class="roll-now">
      <Roll
        diameter={view.diameter}
        core={view.core_diameter}
        splice={view.splice_diameter}
        scaleMm={rollScaleMm(view.full_diameter)}
      />
      <dl>
        <dt>{say('roll.diameter')}</dt>
        <dd>{formatQuantity(view.diameter, 'diameter', 1)}</dd>
        <dt>{say('roll.left')}</dt>
        <dd>
          {/* In a cycle it is of the old roll, then of the new one. */}
          {view.state === 'splicing' ? say('time.now') : formatLength(view.metres_to_splice)}
          {view.state !== 'splicing' && view.metres_low !== null && view.metres_high !== null && (
            <small>
              {say('roll.between', {
                low: figureOf(view.metres_low, 'length', 0),
                high: formatLength(view.metres_high),
              })}
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
            : withDeviation(advice.out_of_round.amplitude, 'diameter')}
          {advice?.out_of_round?.limit != null && (
            <small>{say('roll.wave.limit', { limit: formatQuantity(advice.out_of_round.limit, 'diameter', 1) })}</small>
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
