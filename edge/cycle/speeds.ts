/** One metre per minute in metres per second. */
export const MPS_PER_MPMIN = 1 / 60
/** The unwind counts as stopped below this surface speed, m/s: 1 m/min (recording contract, `stopped_seconds`). */
export const STOPPED_BELOW_MPS = 1 * MPS_PER_MPMIN
