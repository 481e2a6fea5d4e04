/**
 * What a changed config makes of the self-check's evidence: what an old address, unit or calibration said is none against
 * the new one. Pure.
 */
import type { UnwindConfig } from '../config/config.ts'
import type { ConsistencyState } from './consistency.ts'

/** By signal, all in the config that says how it is read. */
export type Readings = Readonly<Record<string, string>>

export function readingsOf({ signals, buffer, roll, splicer }: UnwindConfig): Readings {
  const settings: Record<string, unknown> = {
    buffer_position: buffer?.calibration,
    nominal_caliper: roll.nominalCaliperM,
    splice_diameter: splicer.spliceDiameterM,
  }
  const names = new Set([...signals.map(({ signal }) => signal), ...Object.keys(settings)])
  return Object.fromEntries(
    [...names].map((name) => [
      name,
      JSON.stringify([signals.filter(({ signal }) => signal === name), settings[name] ?? null]),
    ]),
  )
}

export const changedSignals = (before: Readings, after: Readings): string[] =>
  [...new Set([...Object.keys(before), ...Object.keys(after)])].filter((name) => before[name] !== after[name])

/** What rests on a signal. Everything counts web by the line's speed; of that nothing is left but what others refused. */
const RESTS_ON: Readonly<Record<string, readonly (keyof ConsistencyState)[]>> = {
  unwind_speed: ['unwind', 'speeds'],
  spindle_speed: ['turns', 'spindle'],
  line_length: ['totaliserM', 'totaliserWindow', 'totaliser'],
  buffer_position: ['storedM', 'storedTMs', 'storedBefore', 'storedNoiseM', 'stop', 'speeds', 'spindle'],
  roll_diameter: ['roll', 'spindle', 'spindles'],
  active_spindle: ['roll', 'spindle', 'spindles'],
  splice_diameter: ['roll'],
  nominal_caliper: ['roll'],
}

/** @returns the state without what rests on these signals. */
export function withoutEvidenceOf(state: ConsistencyState, signals: readonly string[]): Partial<ConsistencyState> {
  const refused = Object.fromEntries(Object.entries(state.refused).filter(([signal]) => !signals.includes(signal)))
  if (signals.includes('line_speed')) return { refused }
  const dropped = new Set<string>(signals.flatMap((signal) => RESTS_ON[signal] ?? []))
  // It holds several signals from before the change.
  if (dropped.size > 0) dropped.add('window')
  const kept = Object.fromEntries(Object.entries(state).filter(([part]) => !dropped.has(part)))
  return { ...kept, refused }
}
