/**
 * Is what the screen shows alive? The daemon sends at least once a second, so silence itself is the sign.
 * Times are this browser's own running clock in ms: a wrong wall clock changes nothing here.
 */

/** Longest silence that still counts as live, ms. With the screen's tick of 250 ms a loss shows within 3 s. */
export const SILENCE_LIMIT_MS = 2500
/** After so much silence the connection is opened afresh: a cut cable leaves a socket that never errs, ms. */
export const REOPEN_AFTER_MS = 6000

export type Freshness = 'waiting' | 'live' | 'lost'

export const freshness = (lastMessageAtMs: number | undefined, openedAtMs: number, nowMs: number): Freshness => {
  if (lastMessageAtMs === undefined) return nowMs - openedAtMs > SILENCE_LIMIT_MS ? 'lost' : 'waiting'
  return nowMs - lastMessageAtMs > SILENCE_LIMIT_MS ? 'lost' : 'live'
}

/** Waiting time before the next attempt, ms: soon at first, then every 4 s for ever. */
export const retryDelayMs = (attempt: number): number => Math.min(4000, 500 * 2 ** Math.min(attempt, 3))
