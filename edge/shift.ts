/** When the present shift began, by the site's clock. Pure. */

/** How far a zone's clock is before UTC at a moment, ms. */
function offsetMs(tMs: number, zone: string): number {
  const parts = new Intl.DateTimeFormat('en-GB', {
    timeZone: zone,
    hourCycle: 'h23',
    year: 'numeric',
    month: 'numeric',
    day: 'numeric',
    hour: 'numeric',
    minute: 'numeric',
    second: 'numeric',
  }).formatToParts(tMs)
  const of = (type: string): number => Number(parts.find((part) => part.type === type)?.value)
  const local = Date.UTC(of('year'), of('month') - 1, of('day'), of('hour'), of('minute'), of('second'))
  return local - Math.floor(tMs / 1000) * 1000
}

const DAY_MS = 86_400_000

/** @param shifts - local times `HH:MM`; @returns ms since 1970 UTC. */
export function shiftStartTMs(nowMs: number, shifts: readonly string[], zone: string): number {
  const localMs = nowMs + offsetMs(nowMs, zone)
  const midnightMs = Math.floor(localMs / DAY_MS) * DAY_MS
  const starts = [-1, 0].flatMap((day) =>
    shifts.map((shift) => {
      const [hour = 0, minute = 0] = shift.split(':').map(Number)
      const local = midnightMs + day * DAY_MS + (hour * 60 + minute) * 60_000
      // The offset at the start, which a clock change may have made another one than now's.
      const guess = local - offsetMs(local, zone)
      return local - offsetMs(guess, zone)
    }),
  )
  return Math.max(...starts.filter((tMs) => tMs <= nowMs), nowMs - DAY_MS)
}
