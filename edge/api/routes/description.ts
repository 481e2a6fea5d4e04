/** The API described in OpenAPI 3.1, out of the very schemas that check it. */
import { Type } from 'typebox'
import type { ApiApp } from '../app.ts'

export const descriptionRoutes = (app: ApiApp): void => {
  app.get(
    '/api/openapi.json',
    {
      config: { role: 'viewer' },
      schema: {
        tags: ['description'],
        summary: 'This description',
        response: { 200: Type.Object({}, { additionalProperties: true }) },
      },
    },
    () => app.swagger(),
  )
}
