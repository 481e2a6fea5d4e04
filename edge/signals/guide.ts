/** How far the web guide is from the nearer end of its travel, as its tag says it now. Pure. */
import type { UnwindSignals } from './unwind-signals.ts'

export interface GuideReading {
  /** In the tag's unit; 0 where the guide is at an end or beyond it. */
  left: number
  /** 1 where it is centred, 0 at an end. */
  share: number
  /** Empty where the config states none. */
  unit: string
}

/** @returns undefined where no tag is the guide's, or it has no value. */
export function guideReading(signals: UnwindSignals, tMs: number): GuideReading | undefined {
  const [guide] = signals.heldNow(tMs, ({ role }) => role === 'guide')
  if (guide === undefined || typeof guide.value !== 'number') return undefined
  const { travel, toSi, unit = '' } = guide.config
  if (travel === undefined) return undefined
  const [low, high] = travel
  const position = guide.value / toSi
  const left = Math.max(0, Math.min(position - low, high - position))
  return { left, share: left / ((high - low) / 2), unit }
}
