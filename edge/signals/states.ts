/** Which signals are only yes or no: by what their tag is, not by what it happened to say. Pure. */
import type { SignalConfig } from '../config/config.ts'
import { SIGNALS, type SignalKind } from './catalogue.ts'
import { isMappedToTruth } from './value.ts'

const EXTRA = 'extra.'

/**
 * @param signals - of one unwind.
 * @param extra - what its further tags said at a splice: a tag that sends truth is known by that alone, a count stays a number.
 */
export const isStateIn =
  (
    signals: readonly Pick<SignalConfig, 'signal' | 'bit' | 'equals' | 'values'>[],
    extra: Readonly<Record<string, unknown>>,
  ) =>
  (signal: string): boolean => {
    if (!signal.startsWith(EXTRA)) {
      return (SIGNALS as Readonly<Record<string, SignalKind>>)[signal]?.value === 'boolean'
    }
    const own = signals.find((one) => one.signal === signal)
    return typeof extra[signal.slice(EXTRA.length)] === 'boolean' || (own !== undefined && isMappedToTruth(own))
  }
