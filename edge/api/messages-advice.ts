/** What the API sends of advice: on one unwind, at another speed, and between the unwinds of one line. Field names and units are the contract's columns. */
/** An estimate with its standard deviation, both in the unit of the field that holds it. */
export interface Estimate {
  value: number
  deviation: number
}

/** Web as length, mass and money; the last two null where the material's width, basis weight or price is not known. */
export interface WebAmount {
  metres: number
  kilograms: number | null
  cost: number | null
}

/** The next splice of an unwind, or one after it. */
export interface NextSpliceView {
  /** Null while the line stands. */
  seconds: number | null
  seconds_low: number | null
  seconds_high: number | null
  /** Line web until then, m. */
  metres: number
  metres_low: number
  metres_high: number
  /** The roll that it ends. */
  roll: 'running' | 'waiting' | 'usual'
  material: string
  /** Web from the outside of that roll to its splice, m. */
  roll_length: number | null
  roll_length_deviation: number | null
  /** That roll lasts no longer than preparing the next one takes. */
  too_short: boolean
}

/** A joint or defect inside the running roll. */
export interface FlagView {
  /** Below the outside when the roll was loaded, mm. */
  depth: number
  entered: string
  person: string
  /** Web until it leaves the roll, m; below 0 it has left. */
  metres: number
  metres_low: number
  metres_high: number
  /** Null while the line stands. */
  seconds: number | null
  /** False where the splice comes first: it stays on the core. */
  before_splice: boolean
}

/** Advice on one unwind from the same estimates as its forecast. Intervals are the central 80 %. */
export interface AdviceView {
  time: string
  unwind: string
  /** Time until the next roll must be ready, s; 0 is due, null while the line stands or nothing is known. */
  must_be_ready_seconds: number | null
  must_be_ready_low: number | null
  must_be_ready_high: number | null
  /** What sets that time: the buffer's fill, the splicer's refusal, or the splice itself. */
  must_be_ready_by: 'fill' | 'refusal' | 'splice' | null
  preparation_seconds: number
  /** Line speed at which the roll lasts as long as a whole preparation takes, m/min; not capped. */
  lasting_speed: number | null
  lasting_speed_low: number | null
  lasting_speed_high: number | null
  /** Within 8 hours, and until the job ends where that is known. */
  next_splices: NextSpliceView[]
  /** Of rolls of the material that comes next, from their outside to their splice. */
  usual_length: { material: string; metres: number; deviation: number; rolls: number } | null
  job: {
    remaining: number
    seconds: number | null
    splices: number
    /** Web to its splice diameter that will be left on the roll that runs at the job's end, m. */
    left_on_roll: Estimate
    roll: 'running' | 'waiting' | 'usual'
  } | null
  /** Rolls needed until the job ends (else within 8 hours) that neither run nor wait at the unwind. */
  rolls_to_stage: number | null
  flags: FlagView[]
  waiting_flags: { depth: number; entered: string; person: string }[]
  /** Below the outside at loading a flag can lie down to the core, mm; null where that roll's size is not known. */
  deepest_flag: { running: number | null; waiting: number | null }
  splice_diameter: {
    /** Today's, mm. */
    setting: number
    /** Smallest setting for the accepted risk, mm: to be lowered to in steps of at most 5 mm, supervised. */
    smallest: Estimate
    /** What would do if everything were known, as true diameter, mm. */
    without_uncertainty: number
    /** Accepted probability that one roll runs out, and that of today's setting. */
    risk: number
    risk_at_setting: number
    /** What today's setting leaves on each core. */
    left_on_core: WebAmount
    left_on_core_deviation: number
    /** Of that, what the accepted risk does not ask for. */
    avoidable: WebAmount
    currency: string | null
  } | null
  /** µm; `significance` is the difference in standard deviations. */
  caliper: {
    measured: Estimate
    label: number
    difference_percent: number
    significance: number
  } | null
  /** mm; the amplitude that the line still takes at its present speed, null while it stands. */
  out_of_round: { amplitude: Estimate; limit: number | null } | null
}

/** The forecast as it would be at another line speed. */
export interface WhatIfView {
  time: string
  unwind: string
  speed: number
  seconds_to_splice: number | null
  seconds_low: number | null
  seconds_high: number | null
  buffer_needed: number | null
  buffer_margin: number | null
  safe_speed: number | null
  must_be_ready_seconds: number | null
  must_be_ready_low: number | null
  must_be_ready_high: number | null
  units: WhatIfUnits
}

/** Units of a what-if's figures, by the beginning of their names. */
export interface WhatIfUnits {
  speed: string
  safe_speed: string
  seconds: string
  buffer: string
  must_be_ready: string
}

/** Where the joints of one line are in metres of line, and what meets. Advice only: the line's own interlock decides. */
export interface LineView {
  time: string
  line: string
  name: string
  /** Two joints must be at least so far apart where the webs meet, m. */
  joint_separation: number
  crew: number
  /** In the order in which they get to where the webs meet. `number` 0 is on its way, 1 comes with the next splice. */
  joints: { unwind: string; number: number; metres: number; metres_low: number; metres_high: number }[]
  meetings: {
    first: { unwind: string; number: number }
    second: { unwind: string; number: number }
    /** Where the first of them will be, m of line from now, and how far behind it the second, m. */
    metres: number
    gap: Estimate
    /** That they come closer than allowed. */
    probability: number
    /** Which to splice early, by how much web, and what stays on its roll; null where the risk is accepted or nothing helps. */
    advice: {
      unwind: string
      number: number
      early_metres: number
      wasted: WebAmount
      currency: string | null
      /** The roll must then be ready so soon, s; null while the line stands. */
      must_be_ready_seconds: number | null
    } | null
  }[]
  /** Preparations that would need more than the crew at once. */
  preparations: { unwinds: string[]; seconds: number; probability: number }[]
  /** Unwinds of which nothing is known now. */
  unknown: string[]
}
