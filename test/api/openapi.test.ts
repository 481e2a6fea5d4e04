import { Ajv2020 } from 'ajv/dist/2020.js'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { ALARM_COLUMNS, FORECAST_COLUMNS, SPLICE_COLUMNS } from '../../edge/columns.ts'
import { startApi, type TestApi } from '../support/start-api.ts'

interface Operation {
  summary?: string
  parameters?: { name: string; in: string; required?: boolean; schema: unknown }[]
  requestBody?: { content: Record<string, { schema: unknown }> }
  responses: Record<string, { description: string; content?: Record<string, { schema: { $ref?: string } }> }>
}
interface Description {
  openapi: string
  info: { title: string; version: string }
  paths: Record<string, Record<string, Operation>>
  components: { schemas: Record<string, { properties: Record<string, unknown>; required: string[] }> }
}

let api: TestApi
let description: Description
const routes: string[] = []
beforeAll(async () => {
  api = await startApi()
  description = (await api.app.inject('/api/openapi.json')).json()
  await api.app.ready()
  routes.push(...routesOf(api.app.printRoutes({ commonPrefix: false })))
})
afterAll(() => api.app.close())

/** Reads the router's own tree: each level is indented by four characters and holds the rest of the path. */
const routesOf = (tree: string): string[] => {
  const path: string[] = []
  return tree.split('\n').flatMap((line) => {
    const [, indent, part, methods] = /^([│├└─ ]*)(\S+)(?: \(([A-Z, ]+)\))?$/.exec(line) ?? []
    if (indent === undefined || part === undefined) return []
    path.splice(indent.length / 4 - 1, path.length, part)
    const whole = path.join('')
    if (methods === undefined || !whole.startsWith('/api/')) return []
    return methods
      .split(', ')
      .filter((method) => method !== 'HEAD')
      .map((method) => `${method} ${whole}`)
  })
}

const operations = (): [string, Operation][] =>
  Object.entries(description.paths).flatMap(([path, methods]) =>
    Object.entries(methods).map(([method, operation]): [string, Operation] => [
      `${method.toUpperCase()} ${path}`,
      operation,
    ]),
  )

describe('the description of the API', () => {
  it('holds every route that the router knows, and no other', () => {
    expect(routes.length).toBeGreaterThan(12)
    const described = operations().map(([name]) => name)
    expect(described.sort()).toEqual(routes.map((route) => route.replace(/:(\w+)/g, '{$1}')).sort())
  })

  // OpenAPI Specification 3.1.0, sections 4.8.1 (openapi, info), 4.8.10 (responses required), 4.8.12 (path parameters required), 4.8.17 (description required).
  it('has the structure that OpenAPI 3.1 asks for', () => {
    expect(description.openapi).toBe('3.1.0')
    expect(description.info.title).toBe('Lastwrap')
    expect(description.info.version).toBe('0.1.0')
    for (const [name, operation] of operations()) {
      expect(operation.summary, name).toBeTruthy()
      const inPath = [...name.matchAll(/\{(\w+)\}/g)].map((match) => match[1])
      const declared = (operation.parameters ?? []).filter((parameter) => parameter.in === 'path')
      expect(
        declared.map((parameter) => parameter.name),
        name,
      ).toEqual(inPath)
      expect(
        declared.every(({ required }) => required === true),
        name,
      ).toBe(true)
      expect(Object.keys(operation.responses), name).toContain('200')
      for (const [status, response] of Object.entries(operation.responses)) {
        expect(status).toMatch(/^([1-5]\d\d|[1-5]XX|default)$/)
        expect(response.description, name).toBeTypeOf('string')
      }
      if (name.startsWith('POST')) expect(Object.keys(operation.requestBody!.content)).toEqual(['application/json'])
    }
  })

  it('refers only to what it holds', () => {
    const refs = [...JSON.stringify(description).matchAll(/"\$ref":"([^"]+)"/g)].map((match) => match[1]!)
    expect(refs.length).toBeGreaterThan(10)
    for (const ref of refs) {
      const name = /^#\/components\/schemas\/(\w+)$/.exec(ref)?.[1]
      expect(description.components.schemas, ref).toHaveProperty(name ?? ref)
    }
  })

  it("carries the contract's columns", () => {
    const { UnwindView, SpliceView, AlarmView } = description.components.schemas
    expect(UnwindView!.required).toEqual(expect.arrayContaining([...FORECAST_COLUMNS]))
    expect(SpliceView!.required).toEqual(expect.arrayContaining([...SPLICE_COLUMNS]))
    const { properties } = AlarmView!
    for (const column of ALARM_COLUMNS.filter((name) => name !== 'time' && name !== 'event'))
      expect(properties).toHaveProperty(column)
  })

  it('compiles as JSON Schema 2020-12, and the answers keep to it', async () => {
    // An independent validator reads the description as it stands; formats are checked by the pattern of RFC 3339.
    const ajv = new Ajv2020({ strict: false, formats: { 'date-time': /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$/ } })
    ajv.addSchema({ ...description, $id: 'description' })
    const schemaAt = (path: string, status: string) =>
      ajv.compile({
        $ref: `description#/paths/${path.replaceAll('~', '~0').replaceAll('/', '~1').replaceAll('{', '%7B').replaceAll('}', '%7D')}/get/responses/${status}/content/application~1json/schema`,
      })
    const splice = api.daemon.splices({ limit: 1 })[0]!.id
    const asked: [string, string, string][] = [
      ['/api/health', '/api/health', '200'],
      ['/api/ready', '/api/ready', '503'],
      ['/api/unwinds', '/api/unwinds', '200'],
      ['/api/unwinds/{id}', '/api/unwinds/label_press', '200'],
      ['/api/splices', '/api/splices', '200'],
      ['/api/splices/{id}', `/api/splices/${splice}`, '200'],
      ['/api/splices/{id}/trace', `/api/splices/${splice}/trace`, '200'],
      ['/api/alarms', '/api/alarms', '200'],
      ['/api/session', '/api/session', '200'],
      ['/api/splices', '/api/splices?limit=0', '4XX'],
    ]
    for (const [path, url, status] of asked) {
      const check = schemaAt(path, status)
      const body: unknown = (await api.app.inject(url)).json()
      expect(check(body), `${url}: ${ajv.errorsText(check.errors)}`).toBe(true)
      expect(check({ nonsense: true }), path).toBe(false)
    }
  })
})
