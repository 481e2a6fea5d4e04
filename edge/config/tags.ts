/**
 * Tags: which of them a source has to deliver, and how a recording names them.
 *
 * In a recording a tag is `address`, `address#value_path` or `source|address#value_path`; a form that fits two tags of the
 * config is ambiguous and is refused. What people enter are tags of the built-in source `operator`: `../entries.ts`.
 */
import { ALARM_IDS } from '../columns.ts'
import { entryAddresses, jointOutAddress } from '../entries.ts'
import { tagKey } from '../sample.ts'
import { type Config, OPERATOR_SOURCE, type SignalConfig, type TagRef, tagAddress } from './config.ts'

/** The key of a mapped tag: `source|address#value_path`. */
export const keyOfTag = (tag: TagRef): string => tagKey(tag.source, tagAddress(tag))

/** All mapped tags of all unwinds, each once, in the file's order. */
function mappedTags(config: Config): TagRef[] {
  const tags = new Map<string, TagRef>()
  for (const { signals } of config.unwinds) {
    for (const { tag } of signals) if (!tags.has(keyOfTag(tag))) tags.set(keyOfTag(tag), tag)
  }
  return [...tags.values()]
}

/** The tags that `source` has to deliver, each once. */
export const tagsOfSource = (config: Config, source: string): TagRef[] =>
  mappedTags(config).filter((tag) => tag.source === source)

export interface TagUse {
  unwind: string
  signal: SignalConfig
}

/** As a person tells it: `label_press.line_speed`, of one spindle `label_press.roll_diameter (A)`. */
export const nameOfUse = ({ unwind, signal: { signal, spindle } }: TagUse): string =>
  `${unwind}.${signal}${spindle === undefined ? '' : ` (${spindle})`}`

/** What each tag feeds, by tag key: one tag may feed several signals of several unwinds. */
export function usesOfTags(config: Config): Map<string, TagUse[]> {
  const uses = new Map<string, TagUse[]>()
  for (const { id, signals } of config.unwinds) {
    for (const signal of signals) {
      const key = keyOfTag(signal.tag)
      const list = uses.get(key)
      if (list === undefined) uses.set(key, [{ unwind: id, signal }])
      else list.push({ unwind: id, signal })
    }
  }
  return uses
}

function operatorTags(config: Config): TagRef[] {
  const addresses = ['', ...config.unwinds.map(({ id }) => id)].flatMap((unwind) => entryAddresses(unwind, ALARM_IDS))
  const joints = config.unwinds.flatMap(({ id, splicer }) =>
    splicer.stations.map(({ name }) => jointOutAddress(id, name)),
  )
  return [...addresses, ...joints].map((address) => ({
    source: OPERATOR_SOURCE,
    address,
    valuePath: undefined,
    timePath: undefined,
  }))
}

export type FoundTag =
  | { kind: 'tag'; source: string /** As a `Sample` carries it. */; address: string; key: string }
  | { kind: 'ambiguous' /** Forms that would be clear. */; forms: readonly string[]; sentence: string }
  | { kind: 'unknown' }

export interface RecordingTags {
  /** What the text in a recording's column `tag` names. */
  find(text: string): FoundTag
  /** The shortest text that names a tag and no other; undefined for a key that the config lacks. */
  textOf(key: string): string | undefined
  /** Mapped tags (without those of the operator) with their shortest text, in the file's order. */
  readonly mapped: readonly { key: string; text: string; tag: TagRef }[]
}

/** How recordings name the tags of `config`. */
export function recordingTags(config: Config): RecordingTags {
  const mapped = mappedTags(config)
  const tags = new Map([...mapped, ...operatorTags(config)].map((tag) => [keyOfTag(tag), tag]))
  const byForm = new Map<string, Set<string>>()
  for (const [key, tag] of tags) {
    for (const form of [tag.address, tagAddress(tag)]) {
      const keys = byForm.get(form)
      if (keys === undefined) byForm.set(form, new Set([key]))
      else keys.add(key)
    }
  }
  const textOf = (key: string): string | undefined => {
    const tag = tags.get(key)
    if (tag === undefined) return undefined
    return [tag.address, tagAddress(tag)].find((form) => !tags.has(form) && byForm.get(form)?.size === 1) ?? key
  }
  const found = (key: string): FoundTag => {
    const tag = tags.get(key)
    return tag === undefined ? { kind: 'unknown' } : { kind: 'tag', source: tag.source, address: tagAddress(tag), key }
  }
  return {
    find(text) {
      // The whole form is always clear.
      if (tags.has(text)) return found(text)
      const keys = [...(byForm.get(text) ?? [])]
      if (keys.length < 2) return found(keys[0] ?? text)
      const forms = keys.map((key) => textOf(key) ?? key)
      return {
        kind: 'ambiguous',
        forms,
        sentence: `The tag "${text}" fits ${keys.length} tags of the config: write ${forms.map((form) => `"${form}"`).join(' or ')}.`,
      }
    },
    textOf,
    mapped: mapped.map((tag) => ({ key: keyOfTag(tag), text: textOf(keyOfTag(tag)) ?? keyOfTag(tag), tag })),
  }
}
