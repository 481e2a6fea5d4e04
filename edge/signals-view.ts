/** Every source and tag as it is read now, as the API sends it. Pure. */
import type { SignalsView, TagUseView, TagView } from './api/messages-signals.ts'
import { type Config, type SignalConfig, tagAddress } from './config/config.ts'
import { isoTime } from './outcome/record.ts'
import { tagKey } from './sample.ts'
import { contractSignal, contractUnit, contractValue } from './signals/contract-units.ts'
import type { SignalReading } from './signals/unwind-signals.ts'
import type { SourceHealth } from './sources/source.ts'
import type { TagRates } from './tag-rates.ts'

export interface SignalsInput {
  config: Config
  nowMs: number
  startedMs: number
  sources: readonly SourceHealth[]
  /** What the signals of an unwind read now. */
  readings: (unwind: string) => readonly SignalReading[]
  rates: TagRates
}

export function signalsView(input: SignalsInput): SignalsView {
  const { config, nowMs, sources } = input
  const stated = statedUnitsOf(sources)
  const tags = new Map<string, TagView>()
  for (const { id, buffer } of config.unwinds) {
    for (const reading of input.readings(id)) {
      const { source } = reading.config.tag
      const address = tagAddress(reading.config.tag)
      const key = tagKey(source, address)
      const tag = tags.get(key) ?? { ...tagView(input, key, source, address), stated_unit: stated.get(key) ?? null }
      tags.set(key, tag)
      if (reading.tMs !== undefined) {
        tag.age_seconds = Math.max(0, (nowMs - reading.tMs) / 1000)
        tag.quality = reading.quality
      }
      tag.uses.push(useView(id, reading, buffer))
    }
  }
  return {
    time: isoTime(nowMs),
    since: isoTime(input.startedMs),
    sources: sources.map(({ name, kind, state, trouble, clockOffsetMs, tags: health }) => ({
      name,
      kind,
      state,
      trouble: trouble ?? health.find((tag) => tag.trouble !== undefined)?.trouble ?? null,
      clock_offset_ms: clockOffsetMs ?? null,
      stale_after_seconds: config.sources[name]?.staleAfterS ?? null,
    })),
    tags: [...tags.values()],
  }
}

/** Units that servers state of their own tags, by the tag's key. */
const statedUnitsOf = (sources: readonly SourceHealth[]): Map<string, string> =>
  new Map(
    sources.flatMap(({ name, tags }) =>
      tags.flatMap(({ tag, statedUnit }): [string, string][] =>
        statedUnit === undefined ? [] : [[tagKey(name, tagAddress(tag)), statedUnit]],
      ),
    ),
  )

function tagView(
  { rates, nowMs }: SignalsInput,
  key: string,
  source: string,
  address: string,
): Omit<TagView, 'stated_unit'> {
  const rate = rates.of(key, nowMs)
  return {
    source,
    address,
    quality: null,
    age_seconds: null,
    reports_per_minute: rate?.reportsPerMinute === undefined ? null : oneDecimal(rate.reportsPerMinute),
    gaps: rate?.gaps ?? 0,
    longest_gap_seconds: (rate?.longestGapMs ?? 0) / 1000,
    last_gap: rate?.lastGapTMs === undefined ? null : isoTime(rate.lastGapTMs),
    uses: [],
  }
}

const oneDecimal = (value: number): number => Math.round(10 * value) / 10

function useView(unwind: string, reading: SignalReading, buffer: Parameters<typeof contractValue>[2]): TagUseView {
  const { config, value, raw } = reading
  const isScaled = config.scale !== 1 || config.offset !== 0
  const signal = contractSignal(config.signal)
  return {
    unwind,
    signal,
    spindle: config.spindle ?? null,
    tag_unit: config.unit ?? null,
    raw: raw ?? null,
    scaled: isScaled && typeof value === 'number' ? value / config.toSi : null,
    bit: config.bit ?? null,
    inverted: config.invert,
    value: value === undefined ? null : typeof value === 'number' ? numberOf(config, value, buffer) : value,
    unit: contractUnit(signal),
    stale: !reading.isFresh,
    ignored: reading.ignored,
    refused: reading.refused ?? null,
  }
}

const numberOf = (config: SignalConfig, value: number, buffer: Parameters<typeof contractValue>[2]): number | null =>
  contractValue(config, value, buffer)?.value ?? null
