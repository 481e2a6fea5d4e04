/**
 * What the pipeline knows about one unwind at one moment, as far as alarms need it. SI units; undefined is unknown.
 * The pipeline fills it at every step; conditions in `catalogue.ts` read nothing else.
 */
import type { Cause, Outcome, TrendMetric, UnwindState } from '../columns.ts'
import type { JointFacts } from '../joints/joint-watch.ts'
import type { Words } from '../messages/render.ts'

export interface AlarmFacts {
  /** Pipeline time, ms since 1970 UTC. */
  tMs: number
  state: UnwindState
  /** The line runs at production speed: neither standing, threading nor jogging. Where false, what only means something running is suppressed by design. */
  isProducing: boolean
  lineSpeedMps: number | undefined
  /** How steeply the line slows down as a rule, m/s². */
  lineRampMps2: number
  /** Time until the cycle starts, and the low end of its 80 % interval, s. */
  secondsToSplice: number | undefined
  secondsLow: number | undefined
  metresToSplice: number | undefined
  /** How long before the cycle the fill begins, s; 0 where there is none. The roll must be ready by then. */
  fillLeadS: number
  /** Undefined where the signal is not mapped or has no value. */
  newRollReady: boolean | undefined
  /** It is mapped, and its tag gives no value. */
  isReadyUnknown: boolean
  splicerAuto: boolean | undefined
  spliceFault: boolean | undefined
  webBreak: boolean | undefined
  /** Time that preparing the next roll takes (from config, later learned), all of it, s. */
  preparationS: number
  /**
   * What is left of it, usually and at least, s: with less time than the least the roll does not get ready. Refused is one that
   * the job can't take.
   */
  nextRoll: { isRefused: boolean; usualS: number; leastS: number }
  /** The job ends before the next splice, beyond doubt: nothing has to be ready for that. */
  isLastRoll: boolean
  /** In what the roll that runs is not the one that the job needs, where that was known while it waited. */
  wrongRoll: Words | undefined
  /** Stored web now; what the buffer will hold at the cycle's start less reserve less need; the net need, m. */
  storedM: number | undefined
  bufferMarginM: number | undefined
  bufferNeededM: number | undefined
  reserveM: number | undefined
  /** Highest line speed for this splice, m/s. */
  highestSpeedMps: number | undefined
  /** Web missing at the cycle's start even if the fill went on as fast as it can, beyond doubt, m; 0 or less: it can be in time. Undefined where no fill is due. */
  fillShortM: number | undefined
  /** The fill should have begun and has not, since so many seconds. */
  fillOverdueS: number | undefined
  /** Web tension and its setpoint, above 0, both in the site's own measure (N or N/m); undefined where one of them is not known. */
  tension: { value: number; setpoint: number } | undefined
  /** The trigger's diameter as set, and the reading now, m. */
  spliceDiameterM: number | undefined
  diameterM: number | undefined
  coreDiameterM: number
  /** Standard deviation of the reading, m. */
  diameterNoiseM: number | undefined
  /** Seconds since the diameter passed the splice diameter (by more than its noise) without a cycle; undefined before. */
  overdueS: number | undefined
  /** The newest splice whose verdict fell, once it fell. */
  lastSplice: { id: string; outcome: Outcome; cause: Cause | undefined; endedTMs: number } | undefined
  /** While refilling: time since the web ran again, and the time a refill should take, s. */
  refill: { elapsedS: number; expectedS: number } | undefined
  /** What makes the diameter implausible; undefined while it is plausible. Values and limits in m. */
  diameterFault:
    | {
        kind: 'stuck' | 'jump' | 'rising' | 'out_of_range' | 'no_value'
        valueM: number | undefined
        limitM: number | undefined
      }
    | undefined
  /** A transfer happened and the diameter still reads the old roll, seconds since; undefined otherwise. */
  notResetS: number | undefined
  /** Seconds and web since the last roll change; alarms on the diameter wait for three turns or 30 s. */
  sinceRollChange: { seconds: number; turns: number } | undefined
  /**
   * Signals without a value that are required, or say whether the splicer may begin: longest first, s; and whether there
   * ever was one.
   */
  lost: readonly { signal: string; source: string; address: string; seconds: number; hasSpoken: boolean }[]
  /** Measured caliper (effective) and the label's, m; with the estimate's standard deviation. */
  caliper: { valueM: number; sdM: number; labelM: number } | undefined
  /** A speed or length tag that reads otherwise than the others over 200 m or more, and by what share of them. */
  disagreement: { signal: string; share: number } | undefined
  /** The running spindle's diameter is in another unit than the config states. */
  spindleUnit: { spindle: string; actual: string; stated: string } | undefined
  /** Once-per-turn wave of the reading, m, and the amplitude that the line takes at this speed. */
  outOfRound: { amplitudeM: number; sdM: number; limitM: number } | undefined
  /** Joints on their way through the line, and the decurler. */
  joints: JointFacts
  /** What the splice diameter leaves on each core: beyond what the accepted risk asks for, and in all, m; told from `limitM` on, once the splicer is known. */
  waste: { avoidableM: number; leftM: number; limitM: number; isLearned: boolean } | undefined
  /** A measure of the cycle that has left what is usual and keeps going: by what share of it, and how many splices it took to tell. */
  trend: { metric: TrendMetric; side: string | undefined; share: number; splices: number } | undefined
  /** This unwind's pipeline failed and was restored; the reason. */
  pipelineFault: string | undefined
}
