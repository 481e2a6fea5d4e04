/**
 * Who may do what. Every route declares the least role it needs in its `config`; a route without one ends the build of the
 * server, so that nobody can forget it.
 *
 * - `viewer`: sees everything that a wall screen shows.
 * - `operator`: acknowledges, enters what people know (roll ready, notes).
 * - `engineer`: changes settings, certificates and users, reads the audit.
 */
import type { FastifyInstance } from 'fastify'

export const ROLES = ['viewer', 'operator', 'engineer'] as const
export type Role = (typeof ROLES)[number]

declare module 'fastify' {
  interface FastifyContextConfig {
    /** The least role that may call this route. */
    role?: Role
    /** Open to whoever has no session: signing in and out themselves, and the page that asks for it. */
    isOpen?: boolean
    /** Leaves no entry in the audit of its own accord: says nothing that a person did. */
    isQuiet?: boolean
  }
}

/** True where somebody with role `held` may do what needs `needed`. */
export const mayAct = (held: Role, needed: Role): boolean => ROLES.indexOf(held) >= ROLES.indexOf(needed)

export const higher = (a: Role, b: Role): Role => (mayAct(a, b) ? a : b)

/** Refuses, at build, every route that is registered from now on without a role; writes the role into the description. */
export const refuseRoutesWithoutRole = (app: FastifyInstance): void => {
  app.addHook('onRoute', (route) => {
    const role = route.config?.role
    if (role === undefined || !ROLES.includes(role)) {
      throw new Error(
        `The route ${String(route.method)} ${route.url} declares no role: set config.role to one of ${ROLES.join(', ')}.`,
      )
    }
    if (route.schema !== undefined) route.schema = { ...route.schema, ['x-role']: role } as typeof route.schema
  })
}
