/** What the live stream sends to screens, which take less than whole views. */
import type { StreamEvents, UnwindView } from './messages.ts'

/**
 * What `GET /api/stream?changes=true` sends to screens besides: at its begin `hello` and a whole `unwinds`, then `changes` in
 * the place of `unwinds`.
 */
export interface ScreenEvents extends StreamEvents {
  /** Names of the dashboard's files: a screen that runs other ones is from before an upgrade. Null where none are built. */
  hello: { build: string | null }
  /** Fields that changed, by unwind. Every view is of `time` unless it says its own. */
  changes: { time: string; unwinds: Record<string, Partial<UnwindView>> }
}
