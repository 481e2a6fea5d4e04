/** A link within the dashboard: changes the page without a reload, and is an ordinary link in every other way. */
import { type ComponentChildren, createContext } from 'preact'
import { useContext } from 'preact/hooks'
import { routeAddress } from '../api.ts'
import type { Route } from '../router.ts'

/** `isReplacing` leaves no step for "back": for filters, where each change would be one. */
export type Navigate = (route: Route, options?: { isReplacing: boolean }) => void

export const NavigateContext = createContext<Navigate>(() => undefined)

export interface LinkProps {
  to: Route
  children: ComponentChildren
  class?: string
  'aria-label'?: string
  'aria-current'?: 'page' | undefined
}

export const Link = ({ to, children, ...rest }: LinkProps) => {
  const navigate = useContext(NavigateContext)
  return (
    <a
      href={routeAddress(to)}
      {...rest}
      onClick={(event) => {
        if (event.button !== 0 || event.metaKey || event.ctrlKey || event.shiftKey || event.altKey) return
        event.preventDefault()
        navigate(to)
      }}
    >
      {children}
    </a>
  )
}
