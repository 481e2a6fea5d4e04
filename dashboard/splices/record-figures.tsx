/** The record's figures, by what a person looks for: cycle, festoon, tension, preparation, rolls, forecast. */
import type { SpliceView, TraceView } from '../../edge/api/messages.ts'
import { goodProductSeconds } from '../../edge/splice-review.ts'
import { say, sayName } from '../messages.ts'
import { clockSeconds, formatSpread } from '../times.ts'
import { formatNumber } from '../units.ts'
import { type Figure, FigureList, figure, named } from './figure-list.tsx'
import { type Measure, measureFigure, measureUnit } from './measures.ts'

const fromTo = (old: string | null, next: string | null): string | null =>
  old !== null && next !== null && next !== old ? `${old} → ${next}` : (old ?? next)

/** `label_press-web_break-1772…` is the alarm web_break. */
const alarmName = (id: string): string => sayName('alarm', id.split('-').at(-2) ?? id)

const extraInWords = (value: number | string | boolean): string => {
  if (typeof value === 'boolean') return say(value ? 'value.yes' : 'value.no')
  return typeof value === 'number' ? formatNumber(value, 1) : value
}

const unitOfExtra = (columns: TraceView['columns'], name: string): string =>
  columns.find(({ signal }) => signal === `extra.${name}`)?.unit ?? ''

const share = (name: 'figure.speed_kept' | 'figure.guide_left_share', value: number | null) =>
  figure(name, value === null ? null : 100 * value, 'percent', 0)

const Forecasts = ({ splice }: { splice: SpliceView }) => {
  const errors = splice.details.forecast_errors
  if (errors.length === 0) return null
  return (
    <section aria-labelledby="forecasts">
      <h2 id="forecasts">{say('forecasts.title')}</h2>
      <table class="phases">
        <thead>
          <tr>
            <th scope="col">{say('forecasts.before')}</th>
            <th scope="col" class="number">
              {say('forecasts.off')} <span class="unit">{measureUnit('length')}</span>
            </th>
            <th scope="col" class="number">
              {say('forecasts.off')} <span class="unit">{say('unit.s')}</span>
            </th>
          </tr>
        </thead>
        <tbody>
          {errors.map(({ horizon_seconds, metres, seconds }) => (
            <tr key={horizon_seconds}>
              <th scope="row">{say('time.minutes', { minutes: horizon_seconds / 60 })}</th>
              <td class="number">{signed(metres, 'length')}</td>
              <td class="number">{signed(seconds, 'seconds')}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  )
}

/** To one decimal, with its sign. */
const signed = (value: number | null, measure: Measure): string => {
  const text = measureFigure(value, measure, 1)
  return value !== null && Number(value.toFixed(1)) > 0 ? `+${text}` : text
}

/** How far from its setting the diameter was: a figure without a sign, and of a missed splice no word of a beginning. */
export const triggerWords = (
  offset: number,
  outcome: SpliceView['outcome'],
): { name: 'figure.trigger_offset' | 'figure.trigger_below' | 'figure.trigger_above'; offset: number } => ({
  name: offset < 0 ? 'figure.trigger_below' : outcome === 'missed' ? 'figure.trigger_above' : 'figure.trigger_offset',
  offset: Math.abs(offset),
})

const triggerFigure = ({ outcome, details: { trigger_offset } }: SpliceView): Figure | undefined => {
  if (trigger_offset === null) return undefined
  const { name, offset } = triggerWords(trigger_offset, outcome)
  return figure(name, offset, 'diameter', 1)
}

interface RecordProps {
  splice: SpliceView
  /** Of its trace: they know the units of further tags. */
  columns: TraceView['columns']
  zone: string
}

export const RecordFigures = ({ splice, columns, zone }: RecordProps) => {
  const { details } = splice
  const stages = details.preparation.map(
    ({ stage, seconds }): Figure => ({
      name: `preparation.${stage}`,
      value: formatSpread(seconds),
    }),
  )
  const extras = Object.entries(details.extra)
  return (
    <>
      <FigureList
        id="cycle"
        title={say('figures.cycle')}
        figures={[
          figure('figure.setting', details.setting, 'diameter', 1),
          triggerFigure(splice),
          figure('figure.deceleration', details.deceleration, 'acceleration', 2),
          figure('figure.acceleration', details.acceleration, 'acceleration', 2),
          share('figure.speed_kept', details.speed_kept),
          figure('figure.down', details.down_seconds, 'seconds', 0),
          figure('figure.good_product', goodProductSeconds(splice), 'seconds', 0),
        ]}
      />
      <FigureList
        id="festoon"
        title={say('trace.festoon')}
        figures={[
          figure('figure.buffer_at_start', details.buffer_at_start, 'length', 1),
          figure('figure.margin_forecast', details.margin_forecast, 'length', 1),
          figure('figure.margin', details.margin, 'length', 1),
          figure('figure.refill', details.refill_seconds, 'seconds', 1),
        ]}
      />
      <FigureList
        id="tension"
        title={say('figures.tension')}
        figures={[
          figure('figure.tension_usual', details.tension_usual, 'force', 0),
          figure('figure.tension_low', details.tension_low, 'force', 0),
          figure('figure.tension_high', details.tension_high, 'force', 0),
          figure('figure.tension_back', details.tension_back_seconds, 'seconds', 1),
        ]}
      />
      <FigureList
        id="guide"
        title={say('figures.guide')}
        figures={[
          details.guide_left === null
            ? undefined
            : {
                name: 'figure.guide_left',
                value: (
                  <>
                    {formatNumber(details.guide_left, 1)}
                    <span class="unit"> {details.guide_left_unit}</span>
                  </>
                ),
              },
          share('figure.guide_left_share', details.guide_left_share),
        ]}
      />
      <FigureList
        id="rolls"
        title={say('figures.rolls')}
        figures={[
          named('figure.roll', fromTo(details.roll_id, details.new_roll_id)),
          named('figure.material', fromTo(details.material, details.new_material)),
          named('figure.side', fromTo(details.spindle, details.new_spindle)),
          named('figure.waiting_side', details.new_spindle === null ? details.waiting_spindle : null),
          ...stages,
        ]}
      />
      {extras.length > 0 && (
        <section aria-labelledby="extras">
          <h2 id="extras">{say('figures.extras')}</h2>
          <dl>
            {extras.map(([name, value]) => (
              <div key={name}>
                <dt>{sayName('extra', name)}</dt>
                <dd>
                  {extraInWords(value)}
                  {typeof value === 'number' && <span class="unit"> {unitOfExtra(columns, name)}</span>}
                </dd>
              </div>
            ))}
          </dl>
        </section>
      )}
      <Forecasts splice={splice} />
      {details.alarms.length > 0 && (
        <section aria-labelledby="alarms">
          <h2 id="alarms">{say('figures.alarms')}</h2>
          <ul class="plain">
            {details.alarms.map((id) => (
              <li key={id}>
                <span class="soft">{clockSeconds(Number(id.split('-').at(-1)), zone)}</span> {alarmName(id)}
              </li>
            ))}
          </ul>
        </section>
      )}
    </>
  )
}
