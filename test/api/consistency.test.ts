import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { ConsistencyView } from '../../edge/api/messages.ts'
import { startApi, type TestApi } from '../support/start-api.ts'

let api: TestApi
beforeAll(async () => {
  api = await startApi()
})
afterAll(() => api.app.close())

describe('GET /api/unwinds/:id/consistency', () => {
  it('says in numbers and words whether the tags agree', async () => {
    const answer = await api.app.inject('/api/unwinds/label_press/consistency')
    expect(answer.statusCode).toBe(200)
    const { unwind, findings, relations } = answer.json<ConsistencyView>()
    expect({ unwind, findings }).toEqual({ unwind: 'label_press', findings: [] })
    expect(relations[0]?.text).toBe('By line speed 1203 m left the roll, by its area and label 1187 m: 1.3 % apart.')
  })

  it('names the unwinds that there are where one is not', async () => {
    const answer = await api.app.inject('/api/unwinds/label_pres/consistency')
    expect(answer.statusCode).toBe(404)
    expect(answer.json<{ error: string }>().error).toContain('label_press')
  })

  it('stands in the description', async () => {
    const { paths } = (await api.app.inject('/api/openapi.json')).json<{ paths: Record<string, unknown> }>()
    expect(Object.keys(paths)).toContain('/api/unwinds/{id}/consistency')
  })
})
