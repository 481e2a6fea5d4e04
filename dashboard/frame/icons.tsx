/** Our own signs: every state has a shape, so that colour is never alone. All are drawn in a field of 24 × 24. */
import type { JSX } from 'preact'
import type { Outcome, Priority } from '../../edge/columns.ts'

export type IconName = 'tick' | 'ring' | 'question' | Priority | 'gap' | 'joint' | 'back' | 'pause' | 'turn'

const SHAPES: Record<IconName, JSX.Element> = {
  tick: <path d="M4 13l5.5 5.5L20.5 6" class="line" />,
  ring: <circle cx="12" cy="12" r="8.5" class="line" />,
  question: <path d="M7.5 9a4.5 4.5 0 1 1 6.4 4.1c-1.3.6-1.9 1.3-1.9 2.9M12 20.2v.6" class="line" />,
  high: (
    <>
      <path d="M12 .8L23.2 12 12 23.2.8 12z" class="face" />
      <path d="M12 6.5v7M12 17v.6" class="cut" />
    </>
  ),
  medium: (
    <>
      <path d="M12 1.5L23.5 22H.5z" class="face" />
      <path d="M12 9v6M12 18.3v.5" class="cut" />
    </>
  ),
  low: (
    <>
      <circle cx="12" cy="12" r="11" class="face" />
      <path d="M12 6v.6M12 11v7" class="cut" />
    </>
  ),
  gap: <path d="M1 12h7.5M15.5 12H23M10 6l1.5 12M12.5 6L14 18" class="line" />,
  joint: <path d="M1 9h14M9 15h14" class="line" />,
  back: <path d="M14.5 4.5L7 12l7.5 7.5" class="line" />,
  pause: <path d="M8 5v14M16 5v14" class="line" />,
  turn: <path d="M9.5 4.5L17 12l-7.5 7.500" class="line" />,
}

export const Icon = ({ name, class: extra = '' }: { name: IconName; class?: string }) => (
  <svg class={`icon ${extra}`} viewBox="0 0 24 24" aria-hidden="true" focusable="false">
    {SHAPES[name]}
  </svg>
)

export type OutcomeName = Outcome | 'open' | 'cut_short' | 'taken_back'
export const OUTCOME_ICON: Record<OutcomeName, IconName> = {
  good: 'tick',
  failed: 'high',
  missed: 'gap',
  aborted: 'medium',
  open: 'ring',
  cut_short: 'ring',
  taken_back: 'ring',
}
