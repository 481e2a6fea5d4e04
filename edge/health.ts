/** How the daemon itself is doing, for `GET /api/health`. Pure. */
import type { HealthView } from './api/messages.ts'
import type { Config } from './config/config.ts'
import { isoTime } from './outcome/record.ts'
import type { OutputHealth } from './outputs/output.ts'
import type { SourceHealth } from './sources/source.ts'

export interface HealthInput {
  config: Config
  nowMs: number
  startedMs: number
  version: string
  isDemo: boolean
  sources: readonly SourceHealth[]
  storeTrouble: string | undefined
  database: OutputHealth | undefined
}

export function healthView(input: HealthInput): HealthView {
  const { config, sources } = input
  const isWell =
    input.storeTrouble === undefined &&
    input.database?.trouble === undefined &&
    sources.every(({ state, tags }) => state === 'connected' && tags.every(({ trouble }) => trouble === undefined))
  return {
    status: isWell ? 'ok' : 'degraded',
    version: input.version,
    site: config.site.name,
    time_zone: config.site.timeZone,
    shifts: [...config.site.shifts],
    language: config.site.language,
    time: isoTime(input.nowMs),
    uptime_seconds: Math.max(0, (input.nowMs - input.startedMs) / 1000),
    demo: input.isDemo,
    finished_rolls: config.unwinds.some(({ signals }) => signals.some(({ signal }) => signal === 'finished_roll')),
    wall: { screen_diagonal: config.wall.screenDiagonalM, distance: config.wall.distanceM },
    sources: sources.map(({ name, kind, state, trouble, clockOffsetMs, tags }) => ({
      name,
      kind,
      state,
      trouble: trouble ?? tags.find((tag) => tag.trouble !== undefined)?.trouble ?? null,
      clock_offset_ms: clockOffsetMs ?? null,
      tags: tags.length,
      tags_in_trouble: tags.filter((tag) => tag.trouble !== undefined).length,
    })),
    store: { trouble: input.storeTrouble ?? null },
    database: input.database ?? null,
  }
}
