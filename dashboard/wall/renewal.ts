/**
 * A wall hangs for weeks; after an upgrade it has to load the new pages by itself, once. If what it then gets is still old (a
 * cache in between), it stays as it is: a page that reloads for ever shows nothing.
 */
import { useEffect } from 'preact/hooks'

const KEY = 'lastwrap.renewed_for'

/** The files that this page began with, as the daemon names them; undefined in development, where none are built. */
export const ownBuild = (root: ParentNode): string | undefined => {
  const files = [...root.querySelectorAll('script[src], link[rel="stylesheet"][href]')].flatMap((element) => {
    const address = element.getAttribute('src') ?? element.getAttribute('href') ?? ''
    return /assets\/([^/]+\.(?:js|css))$/.exec(address)?.[1] ?? []
  })
  return files.length === 0 ? undefined : files.sort().join(' ')
}

/** Asked once, before pages on demand add files of their own. */
const OWN = typeof document === 'undefined' ? undefined : ownBuild(document)

export const shouldRenew = (own: string | undefined, served: string | undefined, renewedFor: string | null): boolean =>
  own !== undefined && served !== undefined && own !== served && renewedFor !== served

export const useRenewal = (served: string | undefined): void => {
  useEffect(() => {
    // What is being typed in a dialog is not thrown away: the next message asks again.
    if (served === undefined || document.querySelector('dialog[open]') !== null) return
    try {
      if (!shouldRenew(OWN, served, sessionStorage.getItem(KEY))) return
      sessionStorage.setItem(KEY, served)
    } catch {
      // Without a memory it could not know that it had done so before.
      return
    }
    location.reload()
  }, [served])
}
