/** One report of one tag: what every source delivers, live or replayed. */
export type Quality = 'good' | 'uncertain' | 'bad'

/** A value as it came, after `value_path` and before unit, scale, bit or map. */
export type RawValue = number | boolean | string

export interface Sample {
  /** Name of the source in the config, or `operator` for what people enter. */
  source: string
  /** The tag as it stands in a recording: the address, with `#value_path` behind it where one is configured. */
  address: string
  /** Undefined with quality `bad` (the tag has no value now). */
  value: RawValue | undefined
  quality: Quality
  /** Pipeline time, ms since 1970 UTC: the source's own time less its estimated clock offset. */
  tMs: number
  /** When it reached this machine, ms since 1970 UTC. Replay sets it to `tMs`. */
  arrivalTMs: number
  /** Who entered it, for samples of `operator`. */
  person?: string
}

/** The key under which a tag is known everywhere inside: `source|address#value_path`. */
export const tagKey = (source: string, address: string): string => `${source}|${address}`
