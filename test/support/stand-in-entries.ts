/** What people enter in the stand-in: the daemon's own memory of entries behind made-up unwinds. */
import type { Command, UnwindView } from '../../edge/api/messages.ts'
import type { EntriesView } from '../../edge/api/messages-entries.ts'
import type { SignalConfig, UnwindConfig } from '../../edge/config/config.ts'
import { enterCommand } from '../../edge/enter-command.ts'
import { learnedNothing } from '../../edge/estimators/learning/splicer.ts'
import { createMessages } from '../../edge/messages/message.ts'
import { type EntriesInput, entriesView, preparationView, waitingRollView } from '../../edge/pipeline-entries.ts'
import { UnwindSignals } from '../../edge/signals/unwind-signals.ts'
import { OperatorSource } from '../../edge/sources/operator.ts'

const messages = createMessages('en', { strict: true })
const SPEED_MPS = 3

const readySignal: SignalConfig = {
  signal: 'new_roll_ready',
  spindle: undefined,
  tag: { source: 'line_plc', address: 'ready', valuePath: undefined, timePath: undefined },
  unit: undefined,
  scale: 1,
  offset: 0,
  toSi: 1,
  range: undefined,
  bit: undefined,
  invert: false,
  equals: undefined,
  values: undefined,
  periodS: undefined,
  role: undefined,
}

const configOf = ({ unwind, name, ready_by_hand, preparation_seconds }: UnwindView): UnwindConfig => ({
  id: unwind,
  name,
  roll: { coreDiameterM: 0.1, nominalCaliperM: 80e-6, outOfRoundLimitM2PerS: 0.015 },
  job: { material: '4711', widthM: undefined, winding: 'out' },
  splicer: {
    method: 'zero_speed',
    trigger: 'diameter',
    spliceDiameterM: 0.13,
    spliceSpeedMps: undefined,
    stopS: 1.1,
    decelerationMps2: 2.5,
    accelerationMps2: 1.2,
    overspeed: 0.12,
    unwind: 'driven',
    preparation: {
      fetchS: 0.5 * preparation_seconds,
      loadS: 0.25 * preparation_seconds,
      splicePrepS: 0.25 * preparation_seconds,
      totalS: preparation_seconds,
    },
    pathLengthM: 60,
    runOutRisk: 0.001,
    refusesWithinS: 0,
    tailM: 2,
    spareWraps: 3,
    wasteLimitM: 20,
    stations: [],
    sideLay: undefined,
    register: undefined,
  },
  buffer: undefined,
  service: [],
  signals: ready_by_hand ? [] : [readySignal],
})

const MATERIALS = {
  '4711': {
    coreDiameterM: 0.1,
    caliperM: 80e-6,
    widthM: 1.3,
    basisWeightKgPerM2: 0.064,
    badAtCoreM: 15,
    supplier: undefined,
    price: undefined,
  },
}

export class StandInEntries {
  readonly #signals = new Map<string, { config: UnwindConfig; signals: UnwindSignals }>()

  #of(view: UnwindView): { config: UnwindConfig; signals: UnwindSignals } {
    let known = this.#signals.get(view.unwind)
    if (known === undefined) {
      const config = configOf(view)
      known = { config, signals: new UnwindSignals(config, () => Number.POSITIVE_INFINITY) }
      this.#signals.set(view.unwind, known)
    }
    return known
  }

  #input(view: UnwindView): EntriesInput {
    const { config, signals } = this.#of(view)
    const tMs = Date.parse(view.time)
    if (view.new_roll_ready !== null && !view.ready_by_hand) {
      const value = view.new_roll_ready
      const sample = { source: 'line_plc', address: 'ready', value, quality: 'good', tMs, arrivalTMs: tMs } as const
      signals.accept(sample, () => undefined)
    }
    const rollData = { material: '4711', labelM: 80e-6, coreM: 0.1, spliceDiameterM: 0.13 }
    const at = { rollData, learned: learnedNothing(), tMs, lineWebM: (SPEED_MPS * tMs) / 1000 }
    return { config, signals, materials: MATERIALS, messages, ...at }
  }

  /** The view with what was entered about it. */
  shown(view: UnwindView): UnwindView {
    const input = this.#input(view)
    return { ...view, preparation: preparationView(input), waiting_roll: waitingRollView(input) }
  }

  entries(view: UnwindView): EntriesView {
    return entriesView(this.#input(view))
  }

  enter(view: UnwindView, command: Command): void {
    const { signals } = this.#of(view)
    const tMs = Date.parse(view.time)
    const operator = new OperatorSource({ nowMs: () => tMs, every: () => () => undefined })
    void operator.start({
      sample: (sample) => void signals.entered.accept(sample, (SPEED_MPS * tMs) / 1000),
      alive: () => undefined,
      state: () => undefined,
    })
    enterCommand(operator, command)
  }
}
