/** Requests to the daemon: addresses under whatever path the dashboard is served from, errors as one sentence. */
import type { Words } from '../edge/messages/render.ts'
import { inWords } from './daemon-words.ts'
import { say } from './messages.ts'
import { type Route, routePath } from './router.ts'

/** Where the dashboard lives: built scripts stand in `assets/` below it, in development the root is the server's. */
const base: URL = import.meta.url.includes('/assets/')
  ? new URL(/* @vite-ignore */ '..', import.meta.url)
  : new URL('/', globalThis.location?.href ?? 'http://localhost/')

export const toAddress = (path: string): string => new URL(path, base).href
export const basePath = base.pathname
export const routeAddress = (route: Route): string => toAddress(routePath(route))

/** The daemon refused or did not answer; the message is meant for people. */
export class RequestError extends Error {
  readonly status: number | undefined
  /** The daemon's word for programs. */
  readonly code: string | undefined
  constructor(message: string, status: number | undefined, cause?: unknown, code?: string) {
    super(message, { cause })
    this.name = 'RequestError'
    this.status = status
    this.code = code
  }
}

export const isSignInRefusal = (error: unknown): boolean => error instanceof RequestError && error.status === 401
export const isNotFound = (error: unknown): boolean => error instanceof RequestError && error.status === 404

/** One sentence for people out of whatever was thrown. */
export const reasonFor = (error: unknown): string =>
  error instanceof RequestError ? error.message : say('error.network')

const request = async (path: string, init: RequestInit): Promise<unknown> => {
  let response: Response
  try {
    response = await fetch(toAddress(path), { credentials: 'same-origin', ...init })
  } catch (error) {
    if (error instanceof DOMException && error.name === 'AbortError') throw error
    throw new RequestError(say('error.network'), undefined, error)
  }
  const body: unknown = await response.json().catch(() => undefined)
  if (response.ok) return body
  const { error: said, words, code } = (body ?? {}) as { error?: unknown; words?: Words; code?: string }
  throw new RequestError(
    typeof said === 'string'
      ? inWords({ text: said, ...(words !== undefined && { words }) })
      : say('error.status', { status: response.status }),
    response.status,
    undefined,
    code,
  )
}

export const readJson = async <T>(path: string, signal?: AbortSignal): Promise<T> =>
  (await request(path, { signal: signal ?? null })) as T

export const sendJson = (path: string, body: object): Promise<unknown> =>
  request(path, { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) })
