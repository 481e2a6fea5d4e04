/** The self-check in words, and as the API sends it. Pure. */
import type { ConsistencyView } from '../api/messages.ts'
import type { UnwindConfig } from '../config/config.ts'
import type { Messages, Parameter } from '../messages/message.ts'
import { addressesOf, type Checked, type Finding, type Suspected } from './findings.ts'
import type { MixUp } from './mix-ups.ts'
import type { Relation, RelationId } from './relation.ts'

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
    findings: checked.findings.map((finding) => ({
      id: finding.id,
      severity: finding.severity,
      ...suspectedView(config, finding),
      alternatives: finding.alternatives.map((one) => suspectedView(config, one)),
      evidence: [...finding.evidence],
      text: sentenceOf(config, finding, messages),
    })),
    relations: checked.relations.map((relation) => ({
      id: relation.id,
      ratio: relation.ratio,
      sd: relation.sd,
      judged: relation.isJudged,
      text: relationSentence(relation, messages),
    })),
  }
}

function suspectedView(config: UnwindConfig, { signals, factor, sd, mixUp }: Suspected) {
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
export function sentenceOf(config: UnwindConfig, finding: Finding, messages: Messages): string {
  const sentences = [messages(keyOf(finding), parametersOf(config, finding, messages))]
  if (finding.alternatives.length > 0) {
    const alternatives = finding.alternatives.map((one) => alternativeText(config, one, messages))
    sentences.push(
      messages('consistency.ambiguous', { alternatives: joined(alternatives, 'consistency.or', messages) }),
    )
  }
  if (finding.isMixed) sentences.push(messages('consistency.mixed'))
  return sentences.join(' ')
}

function keyOf({ kind, signals, mixUp }: Finding): string {
  if (kind === 'refused') return mixUp === undefined ? 'consistency.refused' : 'consistency.refused.unit'
  if (signals.length > 1) return `consistency.${kind === 'unit' ? 'unit' : 'scale'}.both`
  if (kind !== 'scale') return `consistency.${kind}`
  if (signals[0] === 'buffer_position') return 'consistency.calibration'
  return signals[0] === 'nominal_caliper' ? 'consistency.caliper' : 'consistency.scale'
}

function parametersOf(config: UnwindConfig, finding: Finding, messages: Messages): Record<string, Parameter> {
  const { factor, mixUp } = finding
  return {
    tag: tagText(config, finding.signals, messages),
    reads: factor === undefined ? '' : readsText(factor, messages),
    witness: witnessText(finding, messages),
    factor: factor === undefined ? '' : figures(factor),
    scale: factor === undefined ? '' : figures(1 / factor),
    metres: String(Math.round(finding.metres ?? 0)),
    count: String(finding.count ?? 0),
    last: finding.last ?? '',
    ...(mixUp?.kind === 'unit' && {
      actual: unitText(mixUp.actual, messages),
      stated: unitText(mixUp.stated, messages),
    }),
    ...(mixUp?.kind === 'strands' && { counted: String(mixUp.counted), real: String(mixUp.real) }),
  }
}

const unitText = (unit: string, messages: Messages): string => (unit === '1' ? messages('consistency.fraction') : unit)

function tagText(config: UnwindConfig, signals: readonly string[], messages: Messages): string {
  const texts = signals.map((signal) => {
    const address = addressesOf(config, signal)
    return address === ''
      ? messages('consistency.config', { signal })
      : messages('consistency.tag', { signal, address })
  })
  return joined(texts, 'consistency.and', messages)
}

function readsText(factor: number, messages: Messages): string {
  const share = factor - 1
  if (Math.abs(share) > PERCENT_UP_TO) return messages('consistency.reads.times', { factor: figures(factor) })
  const percent = (100 * Math.abs(share)).toFixed(1)
  return messages(share > 0 ? 'consistency.reads.more' : 'consistency.reads.less', { percent })
}

function witnessText({ signals, evidence }: Finding, messages: Messages): string {
  const names = evidence.flatMap((id) => signals.flatMap((signal) => WITNESSES[id][signal] ?? []))
  const others = [...new Set(names)].filter((name) => !signals.includes(name))
  const list = joined(
    others.map((name) => messages(`consistency.witness.${name}`)),
    'consistency.and',
    messages,
  )
  return messages(others.length > 1 ? 'consistency.gives.many' : 'consistency.gives.one', { witness: list })
}

function alternativeText(config: UnwindConfig, { signals, factor, mixUp }: Suspected, messages: Messages): string {
  const tag = tagText(config, signals, messages)
  const shown = factor === undefined ? '' : figures(factor)
  if (mixUp?.kind !== 'unit') return messages('consistency.alternative', { tag, factor: shown })
  const actual = unitText(mixUp.actual, messages)
  return messages('consistency.alternative.unit', {
    tag,
    factor: shown,
    actual,
    stated: unitText(mixUp.stated, messages),
  })
}

function joined(texts: readonly string[], key: string, messages: Messages): string {
  if (texts.length < 2) return texts.join('')
  return messages(key, { list: texts.slice(0, -1).join(', '), last: texts[texts.length - 1]! })
}

export function relationSentence(relation: Relation, messages: Messages): string {
  const { ratio } = relation
  const off = ratio - 1
  const apart =
    Math.abs(off) <= PERCENT_UP_TO
      ? messages('consistency.apart.percent', { percent: (100 * Math.abs(off)).toFixed(1) })
      : messages('consistency.apart.factor', { factor: figures(ratio) })
  const sentence = messages(`consistency.relation.${relation.id}`, {
    first: metresText(relation.firstM),
    second: metresText(relation.secondM),
    value: figures(ratio),
    apart,
  })
  return relation.isJudged ? sentence : `${sentence} ${messages('consistency.too_little')}`
}

const metresText = (metres: number): string => (Math.abs(metres) >= 100 ? String(Math.round(metres)) : figures(metres))

/** Three figures are what such a comparison is good for; four where it is a few per cent. */
function figures(value: number): string {
  const digits = Math.abs(Math.abs(value) - 1) < PERCENT_UP_TO ? 4 : 3
  return String(Number(value.toPrecision(digits)))
}
