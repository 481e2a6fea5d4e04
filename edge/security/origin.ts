/**
 * From where a request may come.
 *
 * - Host: a page of a stranger that points its own name at this machine (DNS rebinding) shows that name in `Host`. An address
 *   needs no name server, so addresses pass; names pass that are this machine's, have no dot, or stand in the config.
 * - Commands: a browser says in `Sec-Fetch-Site` and `Origin` (Fetch standard) whose page sent it. Programs that are no
 *   browser send neither and carry no cookie that somebody else could misuse.
 */
import { isIP } from 'node:net'
import { isLoopback } from './loopback.ts'

/** The host's name in a `Host` header, lower case, without port and brackets; undefined where it makes no sense. */
export const hostName = (header: string | undefined): string | undefined => {
  const match = /^(?:\[([0-9a-f:.]+)\]|([a-z0-9._-]+))(?::\d{1,5})?$/i.exec(header ?? '')
  return (match?.[1] ?? match?.[2])?.toLowerCase()
}

export interface HostRule {
  /** Where the server listens. */
  listenHost: string
  /** Further names under which it is reached, such as a reverse proxy's. */
  allowedHosts: readonly string[]
  /** This machine's own name. */
  machineName: string
}

export const isHostAllowed = (header: string | undefined, rule: HostRule): boolean => {
  const name = hostName(header)
  if (name === undefined) return false
  if (isLoopback(name) || name === hostName(rule.listenHost)) return true
  if (rule.allowedHosts.some((allowed) => allowed.toLowerCase() === name)) return true
  // On loopback nobody else can have reached us by another name or address.
  if (isLoopback(rule.listenHost)) return false
  const machine = rule.machineName.toLowerCase()
  return isIP(name) !== 0 || !name.includes('.') || name === machine || name === `${machine}.local`
}

export interface OriginHeaders {
  host?: string | undefined
  origin?: string | undefined
  'sec-fetch-site'?: string | string[] | undefined
}

/** True where a command comes from our own page or from no browser at all. */
export const isSameOrigin = (headers: OriginHeaders): boolean => {
  const site = headers['sec-fetch-site']
  if (site !== undefined && site !== 'same-origin') return false
  if (headers.origin === undefined) return true
  // The scheme is left to `Sec-Fetch-Site`: behind a proxy that ends TLS the daemon can't know it.
  return (
    /^https?:\/\//.test(headers.origin) &&
    headers.origin.replace(/^https?:\/\//, '').toLowerCase() === headers.host?.toLowerCase()
  )
}
