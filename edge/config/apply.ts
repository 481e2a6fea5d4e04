/** What has to be done so that a running daemon goes from one config to another: per source and per unwind, no more. */
import { isDeepStrictEqual } from 'node:util'
import type { Config } from './config.ts'
import { tagsOfSource } from './tags.ts'

export interface Changes {
  added: string[]
  removed: string[]
  changed: string[]
}

export interface ConfigDiff {
  /** By name. A source whose tags changed counts as changed too, for it has to subscribe anew. */
  sources: Changes
  /** By id. */
  unwinds: Changes
  /** Other sections that changed: they take effect when the daemon starts anew. */
  restart: (keyof Config)[]
  /** The order of the unwinds alone changed, which only sorts rows of equal time. */
  isReordered: boolean
  /** Lines count too, though nothing has to be begun anew for them: they are looked up whenever somebody asks. */
  isEmpty: boolean
}

const SECTIONS = ['site', 'materials', 'history', 'database', 'web', 'wall'] as const satisfies (keyof Config)[]

function changes(before: ReadonlyMap<string, unknown>, after: ReadonlyMap<string, unknown>): Changes {
  return {
    added: [...after.keys()].filter((name) => !before.has(name)),
    removed: [...before.keys()].filter((name) => !after.has(name)),
    changed: [...after.keys()].filter(
      (name) => before.has(name) && !isDeepStrictEqual(before.get(name), after.get(name)),
    ),
  }
}

const isNone = ({ added, removed, changed }: Changes): boolean =>
  added.length === 0 && removed.length === 0 && changed.length === 0

const sourcesOf = (config: Config): Map<string, unknown> =>
  new Map(
    Object.entries(config.sources).map(([name, source]) => {
      // Which tags, not in which order: another unwind may have moved.
      const tags = tagsOfSource(config, name).map((tag) => JSON.stringify(tag))
      return [name, [source, tags.toSorted()]]
    }),
  )

const unwindsOf = (config: Config): Map<string, unknown> => new Map(config.unwinds.map((unwind) => [unwind.id, unwind]))

export function diffConfig(before: Config, after: Config): ConfigDiff {
  const sources = changes(sourcesOf(before), sourcesOf(after))
  const unwinds = changes(unwindsOf(before), unwindsOf(after))
  const restart = SECTIONS.filter((section) => !isDeepStrictEqual(before[section], after[section]))
  const idsBoth = (config: Config, other: Config) =>
    config.unwinds.map(({ id }) => id).filter((id) => other.unwinds.some((unwind) => unwind.id === id))
  const isReordered = !isDeepStrictEqual(idsBoth(before, after), idsBoth(after, before))
  const hasOtherLines = !isDeepStrictEqual(before.lines, after.lines)
  return {
    sources,
    unwinds,
    restart,
    isReordered,
    isEmpty: isNone(sources) && isNone(unwinds) && restart.length === 0 && !isReordered && !hasOtherLines,
  }
}
