/** What was entered about one unwind, and how far its next roll is, as the API carries it: SI ends here. Pure. */
import { materialOf } from './advice/unwind-advice.ts'
import { type JobNeeds, jobNeeds, type RollFault, rollFaults, uncheckedNeeds } from './advice/wrong-roll.ts'
import type { AlarmFacts } from './alarms/facts.ts'
import type { EnteredRollView, EntriesView, PreparationView, WaitingRollView } from './api/messages-entries.ts'
import type { MaterialConfig, UnwindConfig } from './config/config.ts'
import { type MissingLink, type RollCheck, STAGES, type Stage } from './entries.ts'
import { preparationLeft, stageTime } from './estimators/learning/preparation.ts'
import type { LearnedSplicer } from './estimators/learning/splicer.ts'
import type { Messages } from './messages/message.ts'
import { isoTime } from './outcome/record.ts'
import type { EnteredRoll } from './signals/entered.ts'
import type { RollData } from './signals/now.ts'
import type { UnwindSignals } from './signals/unwind-signals.ts'

const MM_PER_M = 1000
const millimetres = (metres: number | undefined): number | null => (metres === undefined ? null : metres * MM_PER_M)

export interface EntriesInput {
  config: UnwindConfig
  signals: UnwindSignals
  materials: Readonly<Record<string, MaterialConfig>>
  messages: Messages
  rollData: RollData
  learned: LearnedSplicer
  tMs: number
  /** Line web until now, m. */
  lineWebM: number
}

/** By the config, and by what the last preparations took. */
const usualSeconds = ({ config, learned, tMs }: EntriesInput): Readonly<Record<Stage, number>> => {
  const of = (stage: Stage): number => Math.round(stageTime(config.splicer, learned.preparation, stage, tMs))
  return { fetch: of('fetch'), load: of('load'), splice_prep: of('splice_prep') }
}

/** Since when a roll lies at the unwind by the PLC's word; fetching and loading it are then done. */
export function loadedSinceTMs(
  signals: UnwindSignals,
  rollData: Pick<RollData, 'coreM'>,
  tMs: number,
): number | undefined {
  if (signals.has('waiting_diameter')) {
    const diameterM = signals.number('waiting_diameter', tMs)
    if (diameterM === undefined || diameterM <= rollData.coreM) return undefined
    // Its diameter may be reported for ever anew: the roll's id says better since when it lies there.
    return signals.sinceTMs(signals.has('waiting_roll_id') ? 'waiting_roll_id' : 'waiting_diameter', tMs) ?? tMs
  }
  if (!signals.has('waiting_roll_id') || !signals.text('waiting_roll_id', tMs)) return undefined
  return signals.sinceTMs('waiting_roll_id', tMs)
}

/** Of what it is told whether the job can take the roll that waits. */
export type RollFaultsInput = Pick<EntriesInput, 'signals' | 'config' | 'materials' | 'tMs'>

/** By a person's word, else by its tag. */
export const waitingMaterialOf = ({ signals, tMs }: Pick<RollFaultsInput, 'signals' | 'tMs'>): string | undefined =>
  signals.entered.waiting?.material ?? (signals.text('waiting_material', tMs) || undefined)

export const needsOf = ({ signals, config, materials }: RollFaultsInput): JobNeeds =>
  jobNeeds(config.job, signals.entered.job, materials)

export const waitingRollFaults = (input: RollFaultsInput): RollFault[] =>
  rollFaults(needsOf(input), input.signals.entered.waiting, waitingMaterialOf(input))

const uncheckedOf = (input: RollFaultsInput): RollCheck[] => {
  const material = waitingMaterialOf(input)
  const widthM = materialOf(input.materials, material)?.widthM
  return uncheckedNeeds(needsOf(input), input.signals.entered.waiting, material, widthM)
}

const faultViews = ({ messages }: EntriesInput, faults: readonly RollFault[]) =>
  faults.map(({ kind, needed, found }) => {
    const words = { key: `roll.wrong.${kind}`, parameters: { needed, found } }
    return { kind, text: messages(words.key, words.parameters), words }
  })

type Done = (stage: Stage) => number | undefined

/** When each stage of the next roll was done, ms, as tags or its being ready say. */
function saidDoneOf({ signals, rollData, tMs }: Pick<EntriesInput, 'signals' | 'rollData' | 'tMs'>): Done {
  const { entered } = signals
  const loadedTMs = loadedSinceTMs(signals, rollData, tMs)
  // A roll that is ready went through every stage, whether somebody tapped them or not.
  const readyTMs =
    signals.newRollReady(tMs) === true ? (signals.sinceTMs('new_roll_ready', tMs) ?? entered.readyTMs) : undefined
  return (stage) => (stage === 'splice_prep' ? readyTMs : (loadedTMs ?? readyTMs))
}

/** The same as people, tags or its being ready say; a person's word comes first. */
function doneOf(input: Pick<EntriesInput, 'signals' | 'rollData' | 'tMs'>): Done {
  const saidTMs = saidDoneOf(input)
  return (stage) => input.signals.entered.stages[stage] ?? saidTMs(stage)
}

/** How far the next roll is, as alarms judge it: a roll that is refused is begun with anew. */
export function nextRollFacts(input: EntriesInput): AlarmFacts['nextRoll'] {
  const { config, signals, learned, tMs } = input
  const isRefused = waitingRollFaults(input).length > 0
  const doneTMs = doneOf(input)
  const isDone = (stage: Stage): boolean => !isRefused && doneTMs(stage) !== undefined
  const isReady = signals.newRollReady(tMs) === true && !isRefused
  const left = isReady ? { usualS: 0, leastS: 0 } : preparationLeft(config.splicer, learned.preparation, isDone, tMs)
  return { isRefused, ...left }
}

export function preparationView(input: EntriesInput): PreparationView {
  const { signals, tMs } = input
  const ready = signals.newRollReady(tMs)
  const [doneTMs, saidTMs] = [doneOf(input), saidDoneOf(input)]
  const usual = usualSeconds(input)
  const { isRefused, usualS, leastS } = nextRollFacts(input)
  return {
    stages: STAGES.map((stage) => {
      // What was done was done with a roll that has to be exchanged.
      const tMsDone = isRefused ? undefined : doneTMs(stage)
      return {
        stage,
        done_at: tMsDone === undefined ? null : isoTime(tMsDone),
        usual_seconds: usual[stage],
        by_hand: tMsDone !== undefined && saidTMs(stage) === undefined,
      }
    }),
    ready: ready ?? null,
    left_seconds: Math.round(usualS),
    least_seconds: Math.round(leastS),
    missing: missingLink(input, ready, (stage) => doneTMs(stage) !== undefined),
  }
}

function missingLink(
  input: EntriesInput,
  ready: boolean | undefined,
  isDone: (stage: Stage) => boolean,
): MissingLink | null {
  const { signals, tMs } = input
  const faults = waitingRollFaults(input)
  if (faults.some(({ kind }) => kind === 'hold')) return 'hold'
  if (faults.length > 0) return 'wrong_roll'
  if (ready !== true) {
    // Where nobody ever taps a stage and no tag shows the roll, its absence says nothing: only "ready" is waited for.
    const knowsStages = signals.entered.usesStages || signals.has('waiting_diameter') || signals.has('waiting_roll_id')
    const usual = usualSeconds(input)
    const known = STAGES.filter((stage) => usual[stage] > 0)
    const open = known.find((stage) => !isDone(stage))
    if (knowsStages && open !== undefined && (open !== 'splice_prep' || signals.entered.usesStages)) return open
    // All that people do to the roll is done, and the splicer still says no.
    if (ready === false && known.length > 0 && open === undefined)
      return signals.boolean('splicer_auto', tMs) === false ? 'splicer_auto' : 'arm'
    return 'ready'
  }
  return signals.boolean('splicer_auto', tMs) === false ? 'splicer_auto' : null
}

/** Undefined material, width and id: no roll waits as far as anything says. */
export function waitingRollView(input: EntriesInput): WaitingRollView | null {
  const { signals, tMs, materials } = input
  const { waiting } = signals.entered
  const rollId = waiting?.rollId ?? (signals.text('waiting_roll_id', tMs) || undefined)
  const material = waitingMaterialOf(input)
  if (waiting === undefined && rollId === undefined && material === undefined) return null
  return {
    roll_id: rollId ?? null,
    material: material ?? null,
    // What was entered is this roll's; a material's is what its rolls usually have.
    width: millimetres(waiting?.widthM ?? materialOf(materials, material)?.widthM),
    faults: faultViews(input, waitingRollFaults(input)),
    unchecked: uncheckedOf(input),
  }
}

const enteredRollView = (roll: Readonly<EnteredRoll> | undefined): EnteredRollView | null =>
  roll === undefined
    ? null
    : {
        roll_id: roll.rollId ?? null,
        material: roll.material ?? null,
        diameter: millimetres(roll.diameterM),
        length: roll.lengthM ?? null,
        width: millimetres(roll.widthM),
        winding: roll.winding ?? null,
        hold: roll.isOnHold === true,
        entered: isoTime(roll.tMs),
        person: roll.person,
      }

export function entriesView(input: EntriesInput): EntriesView {
  const { signals, config, materials, tMs, lineWebM } = input
  const { entered } = signals
  const needs = jobNeeds(config.job, entered.job, materials)
  const byTag = signals.has('job_remaining')
  const remaining = byTag ? signals.number('job_remaining', tMs) : entered.jobRemainingM(lineWebM)
  return {
    time: isoTime(tMs),
    unwind: config.id,
    waiting: enteredRollView(entered.waiting),
    running: enteredRollView(entered.running),
    faults: faultViews(input, waitingRollFaults(input)),
    unchecked: uncheckedOf(input),
    job: {
      material: needs.material ?? null,
      width: millimetres(needs.widthM),
      winding: needs.winding ?? null,
      remaining: remaining ?? null,
      remaining_by_tag: byTag,
      entered: entered.job === undefined ? null : isoTime(entered.job.tMs),
      person: entered.job?.person ?? null,
    },
    materials: Object.keys(materials),
  }
}
