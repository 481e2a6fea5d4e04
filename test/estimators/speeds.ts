/** The unwind at line speed, for tests that are about something else. */
import type { SpeedShare } from '../../edge/estimators/computed-diameter.ts'

export const TOGETHER: SpeedShare = {
  now: 1,
  mean: 1,
  least: 1,
  most: 1,
  isApart: false,
  isSteady: true,
  isUnwindStanding: false,
}
