/** The running roll from the side, to scale: a ring from core to outside, and where it will be spliced. */
import { say } from '../messages.ts'
import { formatDiameter } from '../units.ts'

/** Full size of the drawing stands for the least of these that holds a full roll, mm: it does not creep. */
const FULL_SIZES_MM = [150, 200, 250, 300, 400, 500, 600, 800, 1000, 1250, 1500, 2000, 3000]
export const rollScaleMm = (fullMm: number): number => FULL_SIZES_MM.find((size) => size >= fullMm) ?? fullMm

export interface RollProps {
  diameter: number | null
  core: number
  splice: number | null
  scaleMm: number
}

export const Roll = ({ diameter, core, splice, scaleMm }: RollProps) => {
  // Rounded to what a pixel shows: a drawing that moves by less is drawn anew for nothing.
  const radius = (mm: number) => Math.round(Math.min(48, (mm / scaleMm) * 48) * 20) / 20
  const label =
    diameter === null
      ? say('roll.drawing.unknown')
      : say('roll.drawing', {
          diameter: formatDiameter(diameter),
          core: formatDiameter(core),
          splice: formatDiameter(splice),
        })
  return (
    <svg class="roll" viewBox="0 0 100 100" role="img" aria-label={label}>
      {diameter !== null && <circle class="roll-web" cx="50" cy="50" r={radius(diameter)} />}
      {diameter !== null && <path class="roll-web-line" d={`M50 ${(50 - radius(diameter)).toFixed(2)}H100`} />}
      {splice !== null && <circle class="roll-splice" cx="50" cy="50" r={radius(splice)} />}
      <circle class="roll-core" cx="50" cy="50" r={radius(core)} />
      <circle class="roll-shaft" cx="50" cy="50" r={Math.max(1.5, radius(core) * 0.25)} />
    </svg>
  )
}
