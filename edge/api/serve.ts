/** A service that a person enters, by its button or in a splice's review: once, however often it is said. */

import { addsNote, isSameTap } from '../splice-review.ts'
import type { LogEntry } from '../trend-views.ts'
import type { RouteContext } from './app.ts'
import { enterBy } from './enter.ts'

export interface Serviced {
  unwind: string
  item: string
  note: string
  person: string
  /** Of the entry that told of it; else now. */
  tMs?: number
}

/** @returns by item of an unwind: what was entered last, null where nothing was; undefined of an item that the config lacks. */
export const lastServiced = ({ daemon }: Pick<RouteContext, 'daemon'>, unwind: string, item: string) =>
  daemon.desk.services(unwind)?.find((service) => service.item === item)?.last

/** The function returns the entry that stands already, where this one would be that one again; else it enters it. */
export const serveBy = (context: Pick<RouteContext, 'daemon' | 'clock' | 'audit' | 'say'>) => {
  const enter = enterBy(context)
  return ({ unwind, item, note, person, tMs }: Serviced, from: string): LogEntry | undefined => {
    const last = lastServiced(context, unwind, item) ?? undefined
    const isSame = last !== undefined && isSameTap(Date.parse(last.time), context.clock.nowMs())
    if (isSame && !addsNote(last, note)) return last
    enter(
      { kind: 'service', unwind, item, note, person, ...(tMs !== undefined && { tMs }) },
      from,
      `${item} ${note}`.trim(),
    )
    return undefined
  }
}
