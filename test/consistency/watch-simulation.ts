/** A simulation through the self-check alone, with its signals as the pipeline reads them; and tags spoiled on the way. */
import type { ConsistencyView } from '../../edge/api/messages.ts'
import type { UnwindConfig } from '../../edge/config/config.ts'
import { loadConfigText } from '../../edge/config/load.ts'
import { ConsistencyWatch } from '../../edge/consistency/watch.ts'
import { createMessages } from '../../edge/messages/message.ts'
import type { Sample } from '../../edge/sample.ts'
import { readNow, rollDataOf } from '../../edge/signals/now.ts'
import { UnwindSignals } from '../../edge/signals/unwind-signals.ts'
import { samplesOf } from '../pipeline/replay-simulation.ts'
import { type Simulation, simulate } from '../truth/line-simulator.ts'
import type { Scenario } from '../truth/scenario.ts'

const STEP_MS = 100
const messages = createMessages('en', { strict: true })

export interface Spoiled {
  config?: (text: string) => string
  /** By signal: what its tag says instead. */
  tags?: Readonly<Record<string, (value: number) => number>>
}

export interface Recorded {
  config: UnwindConfig
  samples: Sample[]
}

/** Ten minutes with two splices, unless the scenario says otherwise. */
export function recorded(given: Partial<Scenario>, { config, tags = {} }: Spoiled = {}): Recorded {
  const simulation: Simulation = simulate({ durationS: 600, ...given })
  const spoil = new Map(simulation.tags.map(({ address, signal }) => [address, tags[signal]]))
  const rows = simulation.rows.map((row) => {
    const change = spoil.get(row.address)
    return change === undefined || typeof row.value !== 'number' ? row : { ...row, value: change(row.value) }
  })
  const text = config === undefined ? simulation.config : config(simulation.config)
  return { config: loadConfigText(text, 'simulated.yaml').config.unwinds[0]!, samples: samplesOf(rows) }
}

export interface Watched {
  watch: ConsistencyWatch
  view: ConsistencyView
}

/** @param onStep - may hand back another watch that goes on instead. */
export function watchSamples(
  { config, samples }: Recorded,
  onStep: (watch: ConsistencyWatch, tMs: number, signals: UnwindSignals) => ConsistencyWatch = (watch) => watch,
): Watched {
  const signals = new UnwindSignals(config, () => 10)
  let watch = new ConsistencyWatch(config, signals)
  let nextMs = Math.ceil((samples[0]?.tMs ?? 0) / STEP_MS) * STEP_MS
  for (const sample of samples) {
    for (; nextMs < sample.tMs; nextMs += STEP_MS) {
      const rollData = rollDataOf(config, signals, nextMs, {})
      watch.step(readNow(signals, nextMs, config, rollData.coreM), rollData)
      watch = onStep(watch, nextMs, signals)
    }
    signals.accept(sample, (held, accepted) => watch.report(held, accepted, sample.tMs))
  }
  return { watch, view: watch.view(nextMs, messages) }
}

export const check = (given: Partial<Scenario>, spoiled?: Spoiled): ConsistencyView =>
  watchSamples(recorded(given, spoiled)).view
