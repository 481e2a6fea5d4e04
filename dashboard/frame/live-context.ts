/** Gives every part of a page the one live store, and redraws it when something arrived or time went on. */
import { createContext } from 'preact'
import { useContext, useEffect, useRef, useState } from 'preact/hooks'
import type { Freshness } from '../live/freshness.ts'
import type { LiveState } from '../live/state.ts'
import type { LiveStore } from '../store.ts'

export const LiveContext = createContext<LiveStore | undefined>(undefined)

export const useStore = (): LiveStore => {
  const store = useContext(LiveContext)
  if (store === undefined) throw new Error('LiveContext is missing above this component')
  return store
}

export interface Live {
  state: LiveState
  freshness: Freshness
  nowMs: number
}

/** Redraws four times a second, whatever comes in between, and at once for the first message: for what counts down. */
export const useTicks = (): Live => {
  const store = useStore()
  const [, redraw] = useState(0)
  useEffect(() => store.subscribeTicks(() => redraw((count) => count + 1)), [store])
  return { state: store.state, freshness: store.freshness, nowMs: store.nowMs }
}

/** Redraws only when what `pick` returns changes: for pages that don't count down. */
export const useLiveValue = <T>(pick: (store: LiveStore) => T): T => {
  const store = useStore()
  const [, redraw] = useState(0)
  const value = pick(store)
  // `pick` means what the newest drawing means: one kept from the first would look at that drawing's properties for ever.
  const drawn = useRef({ pick, value })
  drawn.current = { pick, value }
  useEffect(
    () =>
      store.subscribe(() => {
        if (!Object.is(drawn.current.pick(store), drawn.current.value)) redraw((count) => count + 1)
      }),
    [store],
  )
  return value
}
