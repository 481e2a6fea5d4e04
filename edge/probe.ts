/**
 * What `lastwrap check` asks the sources: does each answer, and what does each mapped tag say. Uses the very sources of the
 * daemon, for as long as it takes every tag to answer, and at most for a given time.
 */
import type { Config, TagRef } from './config/config.ts'
import { tagKey } from './sample.ts'
import { createSource } from './sources/create.ts'
import type { SourcePorts } from './sources/ports.ts'
import type { Source, SourceHealth, TagHealth } from './sources/source.ts'
import { withoutRetry } from './sources/tried-again.ts'

export interface TagProbe {
  tag: TagRef
  /** Undefined where the tag gave no answer in time. */
  quality: TagHealth['quality']
  value: string | undefined
  /** One sentence; undefined where all is well. */
  trouble: string | undefined
}

export interface SourceProbe {
  name: string
  isReachable: boolean
  /** One sentence; undefined where all is well. */
  trouble: string | undefined
  clockOffsetMs: number | undefined
  tags: TagProbe[]
}

export interface ProbeOptions {
  /** Longest wait for all sources together, ms. */
  timeoutMs: number
  ports: SourcePorts
  /** Tags that have answered so far, of how many. */
  onProgress?: (answered: number, all: number) => void
}

/** The tags that a config maps, by source, each once. */
export function tagsBySource(config: Pick<Config, 'sources' | 'unwinds'>): Map<string, TagRef[]> {
  const bySource = new Map<string, TagRef[]>(Object.keys(config.sources).map((name) => [name, []]))
  const seen = new Set<string>()
  for (const unwind of config.unwinds) {
    for (const { tag } of unwind.signals) {
      const key = tagKey(tag.source, `${tag.address}#${tag.valuePath ?? ''}`)
      if (seen.has(key)) continue
      seen.add(key)
      bySource.get(tag.source)?.push(tag)
    }
  }
  return bySource
}

export async function probeSources(
  config: Pick<Config, 'sources' | 'unwinds'>,
  options: ProbeOptions,
): Promise<SourceProbe[]> {
  const bySource = tagsBySource(config)
  const sources = Object.values(config.sources).map((each) =>
    createSource(each, bySource.get(each.name) ?? [], options.ports, true),
  )
  const all = sources.reduce((sum, source) => sum + source.health().tags.length, 0)
  const settled = Promise.withResolvers<void>()
  const look = (): void => {
    const healths = sources.map((source) => source.health())
    options.onProgress?.(healths.flatMap((each) => each.tags).filter(hasAnswered).length, all)
    if (healths.every(isSettled)) settled.resolve()
  }
  const timer = setTimeout(settled.resolve, options.timeoutMs)
  try {
    const listener = { sample: look, alive: look, state: look }
    await Promise.all(sources.map((source) => source.start(listener)))
    await settled.promise
    return sources.map((source) => reportOf(source, options.timeoutMs))
  } finally {
    clearTimeout(timer)
    await Promise.all(sources.map((source) => source.stop()))
  }
}

const hasAnswered = (tag: TagHealth): boolean => tag.quality !== undefined || tag.trouble !== undefined

/** Nothing more is to be expected: a person has to act first, or every tag answered. */
const isSettled = (health: SourceHealth): boolean =>
  health.state === 'refused' ||
  (health.state === 'connecting' && health.trouble !== undefined) ||
  (health.state === 'connected' && health.tags.every(hasAnswered))

/** What a source said within `timeoutMs`. */
export function reportOf(source: Pick<Source, 'health'>, timeoutMs: number): SourceProbe {
  const health = source.health()
  const isReachable = health.state === 'connected'
  const seconds = (timeoutMs / 1000).toFixed(0)
  return {
    name: health.name,
    isReachable,
    trouble:
      health.trouble ?? (isReachable ? undefined : `The source ${health.name} gave no answer within ${seconds} s.`),
    clockOffsetMs: health.clockOffsetMs,
    tags: health.tags.map((tag) => ({
      tag: tag.tag,
      quality: tag.quality,
      value: tag.lastValue,
      trouble:
        (tag.trouble === undefined ? undefined : withoutRetry(tag.trouble)) ??
        (tag.quality !== undefined || !isReachable
          ? undefined
          : health.kind === 'mqtt'
            ? `Nothing was published on ${tag.tag.address} within ${seconds} s: check the topic, or wait for its publisher.`
            : `${tag.tag.address} gave no value within ${seconds} s.`),
    })),
  }
}
