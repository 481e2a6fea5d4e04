/**
 * The lines of a site: what each one's unwinds bring to it, as the API carries it. SI units end here. Pure.
 */
import { type LineJoint, meetings, overlaps } from './advice/lines.ts'
import type { LineView } from './api/messages.ts'
import type { LineConfig } from './config/config.ts'
import { Z80 } from './estimators/statistics.ts'
import { isoTime } from './outcome/record.ts'
import { type LineShare, webAmount } from './pipeline-advice.ts'

const MOST_JOINTS = 100

/** @param shareOf - undefined where nothing is known of an unwind now. */
export function lineView(line: LineConfig, tMs: number, shareOf: (unwind: string) => LineShare | undefined): LineView {
  const shares = new Map(line.unwinds.map(({ id }) => [id, shareOf(id)]))
  const joints = line.unwinds
    .flatMap(({ id, pathM }) =>
      (shares.get(id)?.joints ?? []).map((joint): LineJoint => ({ ...joint, metres: joint.metres + pathM })),
    )
    // What is past where the webs meet, and past all that may be too near to it, meets nothing.
    .filter(({ metres, sdM }) => metres > -line.jointSeparationM - Z80 * sdM)
    .toSorted((a, b) => a.metres - b.metres)
    .slice(0, MOST_JOINTS)
  const webOf = (unwind: string) =>
    shares.get(unwind)?.value ?? { pricePerM: undefined, currency: undefined, kgPerM: undefined }
  const preparations = line.unwinds.flatMap(({ id }) => shares.get(id)?.preparation ?? [])
  return {
    time: isoTime(tMs),
    line: line.id,
    name: line.name,
    joint_separation: line.jointSeparationM,
    crew: line.crew,
    joints: joints.map(({ unwind, number, metres, sdM }) => ({
      unwind,
      number,
      metres,
      metres_low: metres - Z80 * sdM,
      metres_high: metres + Z80 * sdM,
    })),
    meetings: meetings(joints, line.jointSeparationM, line.meetingRisk, webOf).map(
      ({ first, second, gapM, gapSdM, probability, advice }) => ({
        first: { unwind: first.unwind, number: first.number },
        second: { unwind: second.unwind, number: second.number },
        metres: first.metres,
        gap: { value: gapM, deviation: gapSdM },
        probability,
        advice:
          advice === undefined
            ? null
            : {
                unwind: advice.unwind,
                number: advice.number,
                early_metres: advice.earlyM,
                wasted: webAmount(advice.earlyM, webOf(advice.unwind)),
                currency: webOf(advice.unwind).currency ?? null,
                must_be_ready_seconds: earlierReady(shares.get(advice.unwind), advice.number, advice.earlyM),
              },
      }),
    ),
    preparations: overlaps(preparations, line.crew).map(({ unwinds, startS, probability }) => ({
      unwinds,
      seconds: startS,
      probability,
    })),
    unknown: line.unwinds.filter(({ id }) => shares.get(id) === undefined).map(({ id }) => id),
  }
}

/** A splice so much web earlier wants its roll so much earlier; of one after the next that lies too far ahead to say. */
function earlierReady(share: LineShare | undefined, number: number, earlyM: number): number | null {
  if (number !== 1 || share?.readyS === undefined || share.speedMps === undefined) return null
  return Math.max(0, share.readyS - earlyM / share.speedMps)
}
