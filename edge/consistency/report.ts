/** The self-check in words, and as the API sends it. Pure. */
import type { ConsistencyView } from '../api/messages.ts'
import type { UnwindConfig } from '../config/config.ts'
import { tagAddress } from '../config/config.ts'
import type { Messages } from '../messages/message.ts'
import {
  bare,
  type Figure,
  type Listing,
  lengthM,
  type Parameter,
  type Parameters,
  type Words,
} from '../messages/render.ts'
import { addressesOf, type Checked, type Finding, type Suspected, spindleConfig } from './findings.ts'
import type { MixUp } from './mix-ups.ts'
import { disagrees, ENOUGH_WEB_M, EXPONENTS, type Relation, type RelationId } from './relation.ts'
import type { SpindleUnit } from './spindle-units.ts'

/** Up to this a difference is told in per cent. */
const PERCENT_UP_TO = 0.2

/** Who says otherwise, seen from the tag that is named: by relation, then by tag. */
const WITNESSES: Readonly<Record<RelationId, Readonly<Record<string, string>>>> = {
  speeds: { line_speed: 'unwind_speed', unwind_speed: 'line_speed' },
  spindle: { line_speed: 'spindle', spindle_speed: 'line_speed', roll_diameter: 'spindle' },
  totaliser: { line_speed: 'totaliser', line_length: 'line_speed' },
  festoon_unwind: { buffer_position: 'unwind_speed', unwind_speed: 'festoon' },
  festoon_spindle: { buffer_position: 'spindle', spindle_speed: 'festoon', roll_diameter: 'festoon' },
  festoon_line: { buffer_position: 'line_speed', line_speed: 'festoon' },
  area: { line_speed: 'roll', roll_diameter: 'line_speed', nominal_caliper: 'roll' },
  setting: { roll_diameter: 'setting', splice_diameter: 'diameter' },
}

export function consistencyView(
  config: UnwindConfig,
  tMs: number,
  checked: Checked,
  messages: Messages,
): ConsistencyView {
  return {
    unwind: config.id,
    time: new Date(tMs).toISOString(),
    verdict: verdictOf(checked),
    findings: checked.findings.map((finding) => ({
      id: finding.id,
      severity: finding.severity,
      ...suspectedView(config, finding),
      ...(finding.spindle !== undefined && { addresses: [addressOf(config, finding.spindle.spindle)] }),
      alternatives: finding.alternatives.map((one) => suspectedView(config, one)),
      evidence: [...finding.evidence],
      ...said(wordsOf(config, finding), messages),
    })),
    relations: checked.relations.map((relation) => ({
      id: relation.id,
      ratio: relation.ratio,
      sd: relation.sd,
      judged: relation.isJudged,
      ...said(relationWords(relation), messages),
    })),
  }
}

/**
 * One comparison links two tags, and both may be wrong alike (a line and a totaliser in feet): a second one is the least that
 * can show it.
 */
const FEWEST_COMPARISONS = 2

function verdictOf({ findings, relations }: Checked): ConsistencyView['verdict'] {
  if (findings.length > 0) return 'disagree'
  const judged = relations.filter(({ isJudged }) => isJudged).length
  if (judged === 0) return 'nothing'
  return judged < FEWEST_COMPARISONS ? 'few' : 'agree'
}

const said = (words: Words[], messages: Messages) => ({
  text: words.map(({ key, parameters }) => messages(key, parameters)).join(' '),
  words,
})

function suspectedView(config: UnwindConfig, suspected: Suspected) {
  return { ...partView(config, suspected), together: (suspected.together ?? []).map((one) => partView(config, one)) }
}

function partView(config: UnwindConfig, { signals, factor, sd, mixUp }: Suspected) {
  return {
    signals: [...signals],
    addresses: signals.map((signal) => addressesOf(config, signal)),
    factor: factor ?? null,
    sd: sd ?? null,
    looks_like: mixUp === undefined ? null : labelOf(mixUp),
  }
}

function labelOf(mixUp: MixUp): string {
  if (mixUp.kind === 'unit') return `${mixUp.actual} as ${mixUp.stated}`
  if (mixUp.kind === 'strands') return `${mixUp.counted} strands for ${mixUp.real}`
  return mixUp.kind
}

/** What is wrong, what it looks like, what to do; then what it cannot be told from. */
function wordsOf(config: UnwindConfig, finding: Finding): Words[] {
  const sentences: Words[] = [{ key: keyOf(finding), parameters: parametersOf(config, finding) }]
  if (finding.alternatives.length > 0) {
    const alternatives = { list: finding.alternatives.map((one) => alternative(config, one)), by: 'consistency.or' }
    sentences.push({ key: 'consistency.ambiguous', parameters: { alternatives } })
  }
  if (finding.isMixed && finding.kind !== 'odd' && finding.kind !== 'two') sentences.push({ key: 'consistency.mixed' })
  return sentences
}

function keyOf({ kind, signals, mixUp, isMixed }: Finding): string {
  if (kind === 'two') return isMixed ? 'consistency.two' : 'consistency.two.weak'
  if (kind === 'odd') return `consistency.odd${isMixed ? '.mixed' : signals.length > 1 ? '.both' : ''}`
  if (kind === 'refused') return mixUp === undefined ? 'consistency.refused' : 'consistency.refused.unit'
  if (signals.length > 1) return `consistency.${kind === 'unit' ? 'unit' : 'scale'}.both`
  if (kind !== 'scale') return `consistency.${kind}`
  if (signals[0] === 'buffer_position') return 'consistency.calibration'
  return signals[0] === 'nominal_caliper' ? 'consistency.caliper' : 'consistency.scale'
}

function parametersOf(config: UnwindConfig, finding: Finding): Parameters {
  const { factor, mixUp, spindle } = finding
  if (spindle !== undefined) return spindleParameters(config, spindle)
  return {
    tag: tagsOf(config, finding.kind === 'odd' && finding.isMixed ? signalsIn(config, finding) : finding.signals),
    remedies: allOf((finding.together ?? []).map((one) => remedy(config, one))),
    reads: factor === undefined ? '' : readsOf(factor),
    witness: witnessOf(finding),
    factor: factor === undefined ? '' : figure(factor),
    scale: factor === undefined ? '' : figure(1 / factor),
    metres: lengthM(finding.metres ?? 0, { decimals: 0 }),
    count: finding.count ?? 0,
    last: finding.last ?? '',
    ...(mixUp?.kind === 'unit' && { actual: unitOf(mixUp.actual), stated: unitOf(mixUp.stated) }),
    ...(mixUp?.kind === 'strands' && { counted: mixUp.counted, real: mixUp.real }),
  }
}

function spindleParameters(config: UnwindConfig, found: SpindleUnit): Parameters {
  const { spindle, other, mixUp, reads, otherReads } = found
  return {
    tag: { key: 'consistency.tag', parameters: { signal: 'roll_diameter', address: addressOf(config, spindle) } },
    spindle,
    other,
    low: bare(reads.low, 3),
    high: bare(reads.high, 3),
    other_low: bare(otherReads.low, 3),
    other_high: bare(otherReads.high, 3),
    other_unit: unitOf(found.otherUnit),
    actual: unitOf(mixUp.actual),
    stated: unitOf(mixUp.stated),
  }
}

function addressOf(config: UnwindConfig, spindle: string): string {
  const signal = spindleConfig(config, spindle)
  return signal === undefined ? '' : tagAddress(signal.tag)
}

const unitOf = (unit: string): Parameter => (unit === '1' ? { key: 'consistency.fraction' } : unit)

const allOf = (list: readonly Parameter[]): Listing => ({ list, by: 'consistency.and' })

function tagsOf(config: UnwindConfig, signals: readonly string[]): Listing {
  return allOf(
    signals.map((signal): Words => {
      const address = addressesOf(config, signal)
      return address === ''
        ? { key: 'consistency.config', parameters: { signal } }
        : { key: 'consistency.tag', parameters: { signal, address } }
    }),
  )
}

/** Whatever the relations that disagree rest on. */
const signalsIn = (config: UnwindConfig, { evidence }: Finding): string[] =>
  [...new Set(evidence.flatMap((id) => Object.keys(EXPONENTS[id])))].filter(
    (signal) => addressesOf(config, signal) !== '' || signal === 'nominal_caliper',
  )

/** What to do about one of two mix-ups. */
function remedy(config: UnwindConfig, { signals, mixUp, factor }: Suspected): Words {
  const parameters: Parameters = {
    tag: tagsOf(config, signals),
    factor: figure(factor ?? 1),
    ...(mixUp?.kind === 'unit' && { actual: unitOf(mixUp.actual), stated: unitOf(mixUp.stated) }),
    ...(mixUp?.kind === 'strands' && { counted: mixUp.counted, real: mixUp.real }),
  }
  return { key: `consistency.remedy.${mixUp?.kind ?? 'unit'}`, parameters }
}

function readsOf(factor: number): Words {
  const share = factor - 1
  if (Math.abs(share) > PERCENT_UP_TO) return { key: 'consistency.reads.times', parameters: { factor: figure(factor) } }
  const percent = { value: 100 * Math.abs(share), decimals: 1 }
  return { key: share > 0 ? 'consistency.reads.more' : 'consistency.reads.less', parameters: { percent } }
}

function witnessOf({ signals, evidence }: Finding): Words {
  const names = evidence.flatMap((id) => signals.flatMap((signal) => WITNESSES[id][signal] ?? []))
  const others = [...new Set(names)].filter((name) => !signals.includes(name))
  const witness = allOf(others.map((name) => ({ key: `consistency.witness.${name}` })))
  return { key: others.length > 1 ? 'consistency.gives.many' : 'consistency.gives.one', parameters: { witness } }
}

function alternative(config: UnwindConfig, { signals, factor, mixUp, together }: Suspected): Words {
  if (together !== undefined) {
    const list = together.map((one) => alternative(config, one))
    return { key: 'consistency.alternative.two', parameters: { both: { list, by: 'consistency.and' } } }
  }
  const parameters = { tag: tagsOf(config, signals), factor: factor === undefined ? '' : figure(factor) }
  if (mixUp?.kind !== 'unit') return { key: 'consistency.alternative', parameters }
  const units = { actual: unitOf(mixUp.actual), stated: unitOf(mixUp.stated) }
  return { key: 'consistency.alternative.unit', parameters: { ...parameters, ...units } }
}

function relationWords(relation: Relation): Words[] {
  const { ratio, isJudged } = relation
  if (!isJudged) {
    const web = lengthM(ENOUGH_WEB_M, { decimals: 0 })
    return [{ key: 'consistency.too_little', parameters: { sides: { key: `consistency.sides.${relation.id}` }, web } }]
  }
  const off = ratio - 1
  // What sound tags differ by is no mismatch, and is told as none.
  const usual = disagrees(relation) ? '' : '.usual'
  const apart: Words =
    Math.abs(off) <= PERCENT_UP_TO
      ? {
          key: `consistency.apart.percent${usual}`,
          parameters: { percent: { value: 100 * Math.abs(off), decimals: 1 } },
        }
      : { key: `consistency.apart.factor${usual}`, parameters: { factor: figure(ratio) } }
  const sentence = {
    key: `consistency.relation.${relation.id}`,
    parameters: { first: metres(relation.firstM), second: metres(relation.secondM), value: figure(ratio), apart },
  }
  return [sentence]
}

const metres = (value: number): Figure =>
  Math.abs(value) >= 100 ? lengthM(value, { decimals: 0 }) : { ...figure(value), quantity: 'length' }

/** Three figures are what such a comparison is good for; four where it is a few per cent. */
const figure = (value: number): Figure => bare(value, Math.abs(Math.abs(value) - 1) < PERCENT_UP_TO ? 4 : 3)
