/** A refusal is said in the site's language, and comes as words for a browser that reads another one. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { siteMessages } from '../../edge/languages.ts'
import { startApi, type TestApi } from '../support/start-api.ts'

const german = siteMessages('de')
const spanish = siteMessages('es')
let api: TestApi
beforeAll(async () => {
  api = await startApi({ say: german, language: 'de' })
})
afterAll(() => api.app.close())

interface Refusal {
  error: string
  words: { key: string; parameters: Record<string, string> }
}
const post = async (url: string, payload: object): Promise<Refusal> =>
  (await api.app.inject({ method: 'POST', url, payload })).json<Refusal>()
const get = async (url: string): Promise<Refusal> => (await api.app.inject(url)).json<Refusal>()

describe('a refusal where the site reads German', () => {
  it('of a parameter, by the schema', async () => {
    const { error, words } = await post('/api/unwinds/label_press/flags', { depth: -1, person: 'Mika' })
    expect(error).toBe('Der Parameter depth muss mindestens 0 mm sein.')
    expect(spanish(words.key, words.parameters)).toBe('El parámetro depth tiene que ser al menos 0 mm.')
  })

  it('of a parameter, by the route', async () => {
    const { error } = await get('/api/splices?from=yesterday')
    expect(error).toMatch(/^Der Parameter from ist "yesterday", und das ist keine Zeit mit Zone: /)
  })

  it('of the daemon itself', async () => {
    const { error, words } = await post('/api/unwinds/label_press/flags', { depth: 320, person: 'Mika' })
    expect(error).toMatch(/^Die laufende Rolle hat Bahn bis 310 mm unter .* und 320 mm liegt in ihrer Hülse/)
    expect(words.key).toBe('refusal.core.running')
    expect(api.audit.at(-1)).toMatchObject({ result: 'refused', detail: error })
  })

  it('of what is not there, and of what the framework does not take', async () => {
    expect((await get('/api/unwinds/nobody/advice')).error).toMatch(
      /^Es gibt keine Abwicklung "nobody": es gibt label_press/,
    )
    expect((await get('/api/nothing')).error).toMatch(/^Bei GET "\/api\/nothing" gibt es nichts/)
    const headers = { 'content-type': 'application/json' }
    const answer = await api.app.inject({
      method: 'POST',
      url: '/api/unwinds/label_press/flags',
      payload: '{',
      headers,
    })
    expect(answer.json<Refusal>().error).toBe('Der Inhalt ist kein JSON: ein JSON-Objekt senden.')
  })
})
