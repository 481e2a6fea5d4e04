/** The conditions of the alarms on joints that are on their way, and on the decurler. Pure: facts in, finding or nothing out. */
import { NONE } from './conditions.ts'
import type { Finding } from './definition.ts'
import type { AlarmFacts } from './facts.ts'

/** A joint that lies off is told of for so long: the next look at the web will be the guide's or the roll's, s. */
const SIDE_LAY_TOLD_S = 120

export function jointNotOut({ joints }: AlarmFacts): Finding | undefined {
  const { unconfirmed } = joints
  if (unconfirmed === undefined) return undefined
  return {
    priority: 'high',
    value: unconfirmed.metres,
    limit: unconfirmed.limitM,
    text: 'joint_not_out',
    parameters: { station: unconfirmed.station },
  }
}

export function sideLayOff({ joints, tMs }: AlarmFacts): Finding | undefined {
  const { sideLay } = joints
  if (sideLay === undefined || tMs - sideLay.madeTMs > SIDE_LAY_TOLD_S * 1000) return undefined
  return {
    priority: 'medium',
    value: Math.abs(sideLay.stepM),
    limit: sideLay.limitM,
    text: `side_lay_off.${sideLay.reason}`,
    parameters: NONE,
  }
}

export function decurlerStanding({ joints }: AlarmFacts): Finding | undefined {
  const { decurler } = joints
  if (decurler === undefined) return undefined
  return {
    priority: 'low',
    value: decurler.position,
    limit: decurler.expected,
    text: 'decurler_standing',
    parameters: NONE,
  }
}
