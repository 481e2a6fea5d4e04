/**
 * Joints on their way: the one that has to be taken out next, and the next arrival anywhere, by web that really passed. Information only: the gate's own control
 * decides.
 */
import type { UnwindView } from '../../edge/api/messages.ts'
import { say } from '../messages.ts'
import { missingLength, spareLength } from '../units.ts'

/** A joint that is farther away than this says nothing that hands need now, s. */
const TOLD_WITHIN_S = 120

/** Undefined where no joint is near a station that has to take it out: for this, hands are needed. */
export const jointWords = (view: UnwindView): string | undefined => {
  const coming = view.joints
    .flatMap(({ stations }) => stations)
    .filter(
      ({ takes_out, state, seconds }) => takes_out && state === 'due' && seconds !== null && seconds <= TOLD_WITHIN_S,
    )
    .sort((a, b) => a.metres - b.metres)[0]
  if (coming !== undefined) return say('joint.due', { station: coming.station, length: spareLength(coming.metres) })
  const there = view.joints
    .flatMap(({ stations }) => stations)
    .find(({ takes_out, state }) => takes_out && state === 'passed')
  if (there === undefined) return undefined
  return say('joint.passed', { station: there.station, length: missingLength(-there.metres) })
}

/** The next arrival at any station; undefined where no joint is near one. Nothing to do yet, so it may take turns. */
export const arrivalWords = (view: UnwindView): string | undefined => {
  const next = view.joints
    .flatMap(({ stations }) => stations)
    .filter(({ state, seconds }) => state === 'due' && seconds !== null && seconds <= TOLD_WITHIN_S)
    .sort((a, b) => a.metres - b.metres)[0]
  return next && say('joint.due', { station: next.station, length: spareLength(next.metres) })
}
