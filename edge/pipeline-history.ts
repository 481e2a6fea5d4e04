/** What of a report goes to history and traces: of several spindles' tags only the running one's. Pure. */
import type { UnwindConfig } from './config/config.ts'
import type { PipelineOptions } from './pipeline-ports.ts'
import type { Sample } from './sample.ts'
import type { SignalName } from './signals/catalogue.ts'
import { historyValue } from './signals/contract-units.ts'
import type { Accepted, Held } from './signals/held.ts'
import type { UnwindSignals } from './signals/unwind-signals.ts'

export function keepForHistory(
  { id, buffer }: UnwindConfig,
  signals: UnwindSignals,
  held: Held,
  accepted: Accepted,
  sample: Sample,
  onSignal: PipelineOptions['onSignal'],
): void {
  if (onSignal === undefined) return
  const { signal, spindle } = held.config
  if (spindle !== undefined && signals.running(signal as SignalName, sample.tMs) !== held) return
  const kept = historyValue(held, accepted, sample, buffer)
  if (kept !== undefined) onSignal(id, kept.signal, sample.tMs, kept.value)
}
