/**
 * One line of text that keeps its height: where it is too long, its letters get narrower, down to what stays legible
 * (characters at least half as wide as high: ISO 9241-303, from memory). Only then it is cut.
 */
import type { ComponentChildren } from 'preact'
import { useLayoutEffect, useRef } from 'preact/hooks'

const NARROWEST = 0.58

export const Fit = ({
  children,
  class: extra = '',
  part,
}: {
  children: ComponentChildren
  class?: string
  part?: string
}) => {
  const frame = useRef<HTMLDivElement>(null)
  const text = useRef<HTMLSpanElement>(null)
  const scale = () => {
    if (frame.current === null || text.current === null) return
    const [available, natural] = [frame.current.clientWidth, text.current.offsetWidth]
    const share = natural <= available || natural === 0 ? 1 : Math.max(NARROWEST, available / natural)
    text.current.style.transform = share === 1 ? '' : `scaleX(${share.toFixed(4)})`
  }
  const fitted = useRef('')
  useLayoutEffect(() => {
    // Measuring makes the browser lay the whole page out: only for words that are new.
    const words = text.current?.textContent ?? ''
    if (words === fitted.current) return
    fitted.current = words
    scale()
  })
  useLayoutEffect(() => {
    const observer = new ResizeObserver(scale)
    if (frame.current !== null) observer.observe(frame.current)
    return () => observer.disconnect()
  }, [])
  return (
    <div class={`fit ${extra}`} ref={frame} data-part={part}>
      <span ref={text}>{children}</span>
    </div>
  )
}
