/** Lanes change places while somebody works with the keyboard: what had the focus keeps it, though its element was moved. */
import { useLayoutEffect } from 'preact/hooks'

/** @param order - says when elements may have been moved. */
export const useKeptFocus = (order: string): void => {
  // Asked while drawing, before anything moves.
  const before = document.activeElement
  useLayoutEffect(() => {
    if (!(before instanceof HTMLElement) || before === document.body || !before.isConnected) return
    if (document.activeElement === document.body) before.focus({ preventScroll: true })
  }, [order])
}
