/** One row of a lane, drawn as planned. */
import type { ComponentChildren, JSX } from 'preact'
import { Icon } from '../frame/icons.tsx'
import { type Fonts, type Item, planRow } from './row-plan.ts'
import { textWidth } from './text-width.ts'

export interface RowProps {
  items: readonly Item[]
  roomPx: number
  turn: number
  fonts: Fonts
  class: string
  /** Draws the text of an item that is more than text. */
  draw?: (item: Item) => ComponentChildren
}

const Words = ({ item, children }: { item: Item & { fontPx: number }; children: ComponentChildren }): JSX.Element => (
  <div
    class="item"
    data-part={item.part}
    data-bar={item.isOnBar === true}
    data-framed={item.isFramed === true}
    style={{ fontSize: `${item.fontPx}px`, ...(item.isBold === true ? { fontWeight: 'bold' } : {}) }}
    data-soft={item.isSoft === true}
  >
    {item.icon !== undefined && <Icon name={item.icon} />}
    {children}
  </div>
)

export const Row = ({ items, roomPx, turn, fonts, class: extra, draw }: RowProps) => {
  const plan = planRow(items, roomPx, turn, fonts, textWidth)
  const isNarrowed = plan.scale < 1
  return (
    <div class={`row ${extra}`}>
      <div
        class="row-in"
        style={{
          gap: `${plan.gapPx.toFixed(1)}px`,
          // Laid out in its natural width, then narrowed as one.
          width: isNarrowed ? `${(100 / plan.scale).toFixed(3)}%` : '',
          transform: isNarrowed ? `scaleX(${plan.scale.toFixed(4)})` : '',
        }}
      >
        {plan.items.map((item) => (
          <Words key={item.part} item={item}>
            {draw?.(item) ?? item.text}
          </Words>
        ))}
      </div>
    </div>
  )
}
