/** The two cookies: the session's, and the one that says that a person has signed in from this browser before. */
import { LONGEST_LOOKING_MS } from './sessions.ts'

export const SESSION_COOKIE = 'lastwrap_session'
export const BROWSER_COOKIE = 'lastwrap_browser'

/** The value of a cookie in a `Cookie` header (RFC 6265 4.2). */
export const cookieIn = (cookies: string | undefined, name: string): string | undefined => {
  for (const pair of cookies?.split(';') ?? []) {
    const at = pair.indexOf('=')
    if (at > 0 && pair.slice(0, at).trim() === name) return pair.slice(at + 1).trim()
  }
  return undefined
}

export interface CookieScope {
  /** Where the pages lie, without a slash at the end; empty at the root. */
  basePath: string
  isHttps: boolean
}

/** `Set-Cookie`: no script reads it and no other site sends it; an empty value ends the cookie. */
export const setCookie = (name: string, value: string, { basePath, isHttps }: CookieScope): string =>
  [
    `${name}=${value}`,
    `Path=${basePath}/`,
    'HttpOnly',
    'SameSite=Strict',
    `Max-Age=${value === '' ? 0 : LONGEST_LOOKING_MS / 1000}`,
    ...(isHttps ? ['Secure'] : []),
  ].join('; ')
