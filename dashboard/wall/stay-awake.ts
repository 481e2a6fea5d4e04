/** Keeps the wall's screen lit where the browser may: over HTTPS or on the machine itself. Elsewhere the machine's own settings must. */
import { useEffect } from 'preact/hooks'

export const useStayAwake = (): void => {
  useEffect(() => {
    let lock: WakeLockSentinel | undefined
    let isGone = false
    const hold = () => {
      if (document.visibilityState !== 'visible' || !('wakeLock' in navigator)) return
      navigator.wakeLock.request('screen').then(
        (held) => {
          lock = held
          if (isGone) void held.release()
        },
        // A low battery or a policy says no: nothing is lost but the light, and the next look asks again.
        () => undefined,
      )
    }
    hold()
    // A browser gives the lock back whenever its window is hidden.
    document.addEventListener('visibilitychange', hold)
    return () => {
      isGone = true
      document.removeEventListener('visibilitychange', hold)
      void lock?.release()
    }
  }, [])
}
