/** Tells a drawing on a canvas when its colours change. */
import { useEffect, useState } from 'preact/hooks'

/** Counts up whenever the colours change: a canvas has to be drawn anew. */
export const useColours = (): number => {
  const [version, setVersion] = useState(0)
  useEffect(() => {
    const bump = () => setVersion((before) => before + 1)
    const scheme = matchMedia('(prefers-color-scheme: dark)')
    const observer = new MutationObserver(bump)
    // Paper is white whatever the screen is.
    const paper = matchMedia('print')
    scheme.addEventListener('change', bump)
    paper.addEventListener('change', bump)
    observer.observe(document.documentElement, { attributeFilter: ['data-theme'] })
    return () => {
      scheme.removeEventListener('change', bump)
      paper.removeEventListener('change', bump)
      observer.disconnect()
    }
  }, [])
  return version
}
