/**
 * What the self-check finds wrong, as plain data: which tag, by how much, what it looks like, and what it cannot be told from.
 */
import { type SignalConfig, tagAddress, type UnwindConfig } from '../config/config.ts'
import type { Consistency } from './consistency.ts'
import { type Candidate, isOddScale, isolate } from './isolate.ts'
import { type MixUp, mixUpsOf } from './mix-ups.ts'
import type { Pair } from './pairs.ts'
import type { Relation, RelationId, Suspect } from './relation.ts'
import type { SpindleUnit } from './spindle-units.ts'

export type FindingKind =
  | 'scale'
  /** A factor that nobody would configure, and no usual mix-up. */
  | 'odd'
  /** Two usual mix-ups at once. */
  | 'two'
  | 'unit'
  | 'radius'
  | 'doubled'
  | 'strands'
  | 'inverted'
  | 'other_spindle'
  | 'constant'
  | 'rising'
  | 'refused'
  /** One spindle's diameter in another unit than the other's. */
  | 'spindle_unit'

export interface Suspected {
  /** One tag, both speeds, or those of `together`. */
  signals: readonly string[]
  /** What it reads over what is true; undefined where it isn't a matter of scale. */
  factor: number | undefined
  /** Standard deviation of the factor, as a share. */
  sd: number | undefined
  mixUp: MixUp | undefined
  /** Mix-ups that go wrong at once, each with its own tag and factor. */
  together?: readonly Suspected[]
}

export interface Finding extends Suspected {
  /** `<signal>.<kind>`. */
  id: string
  kind: FindingKind
  /** `wrong`: no forecast to be trusted; `doubtful`: a few per cent. */
  severity: 'wrong' | 'doubtful'
  /** What could as well be the cause. */
  alternatives: readonly Suspected[]
  evidence: readonly RelationId[]
  /** No single tag explains everything. */
  isMixed: boolean
  /** Web over which it was seen, m; what the tag said last, and how often it was refused. */
  metres?: number
  last?: string
  count?: number
  spindle?: SpindleUnit
}

/** Off by less than this a tag still serves. */
const WRONG_SHARE = 0.05
const NO_SCALE = { factor: undefined, sd: undefined, mixUp: undefined, alternatives: [], isMixed: false } as const

const OF_DIAMETER: ReadonlySet<RelationId> = new Set<RelationId>(['area', 'setting', 'spindle', 'festoon_spindle'])

export interface Checked {
  relations: Relation[]
  findings: Finding[]
}

export function checkConsistency(config: UnwindConfig, consistency: Consistency): Checked {
  const relations = consistency.relations()
  const spindle = spindleFinding(config, consistency)
  const refused = refusals(config, consistency).filter(({ signals }) => !spindle?.signals.includes(signals[0]!))
  const findings: Finding[] = [...refused, ...(spindle === undefined ? diameterFindings(consistency) : [spindle])]
  const inverted = relations.filter(({ ratio, isJudged }) => isJudged && ratio < 0)
  if (inverted.length > 0) {
    const size = inverted[0]!
    findings.push({
      ...NO_SCALE,
      id: 'buffer_position.inverted',
      kind: 'inverted',
      severity: 'wrong',
      signals: ['buffer_position'],
      factor: size.ratio,
      sd: size.sd,
      evidence: inverted.map(({ id }) => id),
    })
  }
  // A diameter that is not the running roll's says nothing of any scale, nor do two of different units.
  const isComparable = consistency.standing === undefined && spindle === undefined
  const comparable = isComparable ? relations : relations.filter(({ id }) => !OF_DIAMETER.has(id))
  const { candidates, pairs, isMixed } = isolate(
    comparable,
    (suspect) => mixUpsOf(suspect, unitOf(config, suspect)),
    consistency.typical(),
  )
  const [first, ...others] = candidates
  const [pair, ...otherPairs] = pairs
  if (pair !== undefined) findings.push(pairFinding(pair, otherPairs, isMixed))
  else if (first !== undefined) findings.push(scaleFinding(first, others, isMixed))
  return { relations, findings }
}

function scaleFinding(first: Candidate, others: readonly Candidate[], isMixed: boolean): Finding {
  // A scale that would fit the sum of two faults is the remedy of neither.
  const kind = first.mixUp?.kind ?? (isMixed || isOddScale(first.factor) ? 'odd' : 'scale')
  return {
    ...suspected(first),
    id: `${first.suspects.join('+')}.${kind}`,
    kind,
    severity: Math.abs(Math.log(first.factor)) > WRONG_SHARE ? 'wrong' : 'doubtful',
    alternatives: others.map(suspected),
    evidence: first.explains,
    isMixed,
  }
}

const suspected = ({ suspects, factor, sd, mixUp }: Candidate): Suspected => ({ signals: suspects, factor, sd, mixUp })

function pairFinding(pair: Pair, others: readonly Pair[], isMixed: boolean): Finding {
  const both = pairSuspected(pair)
  return {
    ...both,
    id: (both.together ?? []).map(({ signals, mixUp }) => `${signals.join('+')}.${mixUp?.kind}`).join('+'),
    kind: 'two',
    severity: 'wrong',
    alternatives: others.map(pairSuspected),
    evidence: pair.explains,
    isMixed,
  }
}

function pairSuspected({ parts }: Pair): Suspected {
  return {
    signals: parts.flatMap(({ suspects }) => suspects),
    factor: undefined,
    sd: undefined,
    mixUp: undefined,
    together: parts.map(({ suspects, mixUp }) => ({ signals: suspects, factor: mixUp.factor, sd: undefined, mixUp })),
  }
}

function spindleFinding(config: UnwindConfig, consistency: Consistency): Finding | undefined {
  const found = spindleUnitOf(config, consistency)
  return (
    found && {
      id: `roll_diameter.${found.spindle}.unit`,
      kind: 'spindle_unit',
      severity: 'wrong',
      signals: ['roll_diameter'],
      factor: found.mixUp.factor,
      sd: undefined,
      mixUp: found.mixUp,
      alternatives: [],
      evidence: [],
      isMixed: false,
      spindle: found,
    }
  )
}

/** A spindle whose diameter is in another unit than the config states. */
export const spindleUnitOf = (config: UnwindConfig, consistency: Consistency): SpindleUnit | undefined =>
  consistency.spindleUnit((spindle) => spindleConfig(config, spindle)?.unit, config.roll.coreDiameterM)

export const spindleConfig = (config: UnwindConfig, spindle: string): SignalConfig | undefined =>
  config.signals.find((one) => one.signal === 'roll_diameter' && one.spindle === spindle)

function diameterFindings(consistency: Consistency): Finding[] {
  const standing = consistency.standing
  if (standing === undefined) return []
  const kind = standing.otherFalls ? 'other_spindle' : standing.isRising ? 'rising' : 'constant'
  return [
    {
      ...NO_SCALE,
      id: `roll_diameter.${kind}`,
      kind,
      severity: 'wrong',
      signals: ['roll_diameter'],
      evidence: ['area'],
      metres: standing.metres,
    },
  ]
}

const CHECKED: ReadonlySet<string> = new Set<Suspect>([
  'line_speed',
  'unwind_speed',
  'buffer_position',
  'roll_diameter',
  'spindle_speed',
  'line_length',
])

/** Only tags that the forecast's arithmetic rests on; what else is refused, the sources' health tells. */
function refusals(config: UnwindConfig, consistency: Consistency): Finding[] {
  return consistency.refused().flatMap(({ signal, count, last }) => {
    if (!CHECKED.has(signal)) return []
    const stated = unitOf(config, signal as Suspect)
    // The commonest unit that is so much smaller: in it the value would be a usual one.
    const mixUp = mixUpsOf(signal as Suspect, stated).find((one) => one.kind === 'unit' && one.factor > 10)
    return [
      {
        ...NO_SCALE,
        id: `${signal}.refused`,
        kind: 'refused' as const,
        severity: 'wrong' as const,
        signals: [signal],
        evidence: [],
        mixUp,
        count,
        last,
      },
    ]
  })
}

export const signalConfig = (config: UnwindConfig, signal: string): SignalConfig | undefined =>
  config.signals.find((one) => one.signal === signal)

/** As a person would write it where the config states it itself. */
const WRITTEN_UNITS: Partial<Record<Suspect, string>> = { nominal_caliper: 'um', splice_diameter: 'mm' }

const unitOf = (config: UnwindConfig, suspect: Suspect): string | undefined => {
  const mapped = signalConfig(config, suspect)
  return mapped === undefined ? WRITTEN_UNITS[suspect] : mapped.unit
}

/** The tags' addresses, as the config has them; empty where the config states the value itself. */
export const addressesOf = (config: UnwindConfig, signal: string): string =>
  config.signals
    .filter((one) => one.signal === signal)
    .map(({ tag }) => tagAddress(tag))
    .join(', ')
