/** Which pages are for whom: a page that somebody may not read is no place to be led to. */
import type { SessionView } from '../../edge/api/messages-access.ts'

const ORDER = ['viewer', 'operator', 'engineer'] as const

/** By what the person may do who is signed in, locked or not: the page asks for the password again. */
export const mayRead = (session: SessionView | undefined, least: SessionView['role']): boolean =>
  ORDER.indexOf(session?.signed_in_role ?? session?.role ?? 'viewer') >= ORDER.indexOf(least)
