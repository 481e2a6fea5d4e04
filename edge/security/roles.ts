/**
 * Who may do what. Every route declares the least role it needs in its `config`; a route without one ends the build of the
 * server, so that nobody can forget it.
 *
 * - `viewer`: sees everything that a wall screen shows. Open without sign-in, or a wall would go dark when a session ends.
 * - `operator`: acknowledges, enters what people know (roll ready).
 * - `engineer`: changes settings.
 */
import type { FastifyInstance } from 'fastify'

export const ROLES = ['viewer', 'operator', 'engineer'] as const
export type Role = (typeof ROLES)[number]

declare module 'fastify' {
  interface FastifyContextConfig {
    /** The least role that may call this route. */
    role?: Role
    /** Left out of the check for a session: signing in and out themselves. */
    isSession?: boolean
  }
}

/** True where somebody with role `held` may do what needs `needed`. */
export const mayAct = (held: Role, needed: Role): boolean => ROLES.indexOf(held) >= ROLES.indexOf(needed)

/** Refuses, at build, every route that is registered from now on without a role. */
export const refuseRoutesWithoutRole = (app: FastifyInstance): void => {
  app.addHook('onRoute', (route) => {
    const role = route.config?.role
    if (role === undefined || !ROLES.includes(role)) {
      throw new Error(
        `The route ${String(route.method)} ${route.url} declares no role: set config.role to one of ${ROLES.join(', ')}.`,
      )
    }
  })
}
