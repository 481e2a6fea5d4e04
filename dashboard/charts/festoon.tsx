/** The festoon to scale: strands as long as the stored share, a mark where it runs, and one for what the splice needs. */
import type { UnwindView } from '../../edge/api/messages.ts'
import { say } from '../messages.ts'
import { formatLength } from '../units.ts'

const TOP = 10
const TRAVEL = 78
const STRANDS_X = [14, 26, 38, 50, 62]
const STRANDS = STRANDS_X.map((x) => `M${x} ${TOP}V${TOP + TRAVEL}`).join('')

export interface FestoonProps {
  buffer: NonNullable<UnwindView['buffer']>
  stored: number | null
  needed: number | null
}

export const Festoon = ({ buffer, stored, needed }: FestoonProps) => {
  const share = (metres: number) => Math.min(1, Math.max(0, metres / buffer.capacity))
  const y = (metres: number) => TOP + share(metres) * TRAVEL
  const label =
    stored === null
      ? say('festoon.drawing.unknown')
      : say('festoon.drawing', {
          stored: formatLength(stored),
          capacity: formatLength(buffer.capacity),
          running: formatLength(buffer.running),
          needed: formatLength(needed === null ? null : needed + buffer.reserve),
        })
  // Moved by transforms, so that a style sheet can let it glide through a cycle.
  const full = share(stored ?? 0)
  const strands = { transform: `scaleY(${full.toFixed(4)})` }
  const carriage = { transform: `translateY(${(full * TRAVEL).toFixed(2)}px)` }
  return (
    <svg class="festoon" viewBox="0 0 84 100" role="img" aria-label={label}>
      <path class="festoon-rail" d={`M6 ${TOP}V${TOP + TRAVEL}M70 ${TOP}V${TOP + TRAVEL}`} />
      {stored !== null && <path class="festoon-web" d={STRANDS} style={strands} />}
      {stored !== null && <path class="festoon-carriage" d={`M4 ${TOP}H72`} style={carriage} />}
      <path class="festoon-rollers" d={`M4 ${TOP}H72`} />
      <path class="festoon-mark" d={`M72 ${y(buffer.running)}h9`} />
      {needed !== null && <path class="festoon-need" d={`M83 ${y(needed + buffer.reserve) - 6}v12l-11 -6z`} />}
    </svg>
  )
}
