/** Names and figures in two columns; what is not known is left out, so that a short record is a short list. */
import type { ComponentChildren } from 'preact'
import { type MessageKey, say } from '../messages.ts'
import { type Measure, measureFigure, measureUnit } from './measures.ts'

export interface Figure {
  name: MessageKey
  value: ComponentChildren
}

/** @returns undefined where nothing is known. */
export const figure = (
  name: MessageKey,
  value: number | null,
  measure: Measure,
  decimals: number,
): Figure | undefined =>
  value === null
    ? undefined
    : {
        name,
        value: (
          <>
            {measureFigure(value, measure, decimals)}
            <span class="unit"> {measureUnit(measure)}</span>
          </>
        ),
      }

export const named = (name: MessageKey, value: string | null): Figure | undefined =>
  value === null || value === '' ? undefined : { name, value }

export const FigureList = ({ id, title, figures }: { id: string; title: string; figures: (Figure | undefined)[] }) => {
  const known = figures.filter((one) => one !== undefined)
  if (known.length === 0) return null
  return (
    <section aria-labelledby={id}>
      <h2 id={id}>{title}</h2>
      <dl>
        {known.map(({ name, value }) => (
          <div key={name}>
            <dt>{say(name)}</dt>
            <dd>{value}</dd>
          </div>
        ))}
      </dl>
    </section>
  )
}
