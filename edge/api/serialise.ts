/**
 * Writes answers by their schemas, so that nothing leaves that a schema does not name. A writer is built when its first answer goes
 * out and once for all routes that answer alike: built for every route and status at the start they take most of a second.
 */
import fastJsonStringify, { type Schema } from 'fast-json-stringify'
import type { ApiApp } from './app.ts'

type Writer = (data: unknown) => string

export const serialiseOnDemand = (app: ApiApp): void => {
  const writers = new Map<string, Writer>()
  app.setSerializerCompiler(({ schema }) => {
    const key = JSON.stringify(schema)
    return (data: unknown) => {
      let writer = writers.get(key)
      if (writer === undefined) {
        const shared = app.getSchemas() as Record<string, Schema>
        writer = fastJsonStringify(schema as Schema, { schema: shared }) as Writer
        writers.set(key, writer)
      }
      return writer(data)
    }
  })
}
