/** Why a splice went as it did, by what the config says of its cycle, and by what people said of it. Pure. */
import type { SpliceView } from '../api/messages.ts'
import type { SplicerConfig } from '../config/config.ts'
import type { Words } from '../messages/render.ts'
import { verdictOf } from '../splice-review.ts'
import { figures } from './why.ts'

export type PlannedCycle = Pick<SplicerConfig, 'stopS' | 'decelerationMps2'>

/** The config is a data sheet: nearer to it than this share, and than two samples, the cycle went as it says. */
const AS_SAID_SHARE = 0.15
const AS_SAID_S = 0.2
const MPMIN_PER_MPS = 60

/** Only a zero-speed splicer's unwind stops while the line runs on. */
export const plannedOf = (splicer: SplicerConfig): PlannedCycle | undefined =>
  splicer.method === 'zero_speed' ? splicer : undefined

/** How stop and ramp compare with the config; where both went as it says, that they did. Nothing where no stop was measured. */
export function plannedFindings(splice: SpliceView, { stopS, decelerationMps2 }: PlannedCycle): Words[] {
  const { stopped_seconds: stoppedS, speed, phases } = splice
  if (stoppedS === null) return []
  const slowingS = phases.find(({ phase }) => phase === 'decelerate')?.seconds ?? null
  const rampS = speed === null ? null : speed / MPMIN_PER_MPS / decelerationMps2
  const findings: Words[] = []
  const compare = (seconds: number, saidS: number, longer: string, shorter: string): void => {
    if (Math.abs(seconds - saidS) <= Math.max(AS_SAID_S, AS_SAID_SHARE * saidS)) return
    const key = `why.config.${seconds > saidS ? longer : shorter}`
    findings.push({ key, parameters: figures(seconds, saidS) })
  }
  if (slowingS !== null && rampS !== null) compare(slowingS, rampS, 'slower', 'faster')
  compare(stoppedS, stopS, 'stop_longer', 'stop_shorter')
  if (findings.length > 0) return findings
  return [{ key: 'why.config.as_said', parameters: figures(stoppedS, stopS) }]
}

/** What people say of it, where they say anything of its verdict. */
export function saidFindings(splice: SpliceView): Words[] {
  if (splice.review?.outcome == null) return []
  const { outcome, cause } = verdictOf(splice)
  return [{ key: `why.said.${outcome}`, parameters: { cause: { key: `cause.${cause ?? 'unknown'}` } } }]
}
