import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { Ajv2020 } from 'ajv/dist/2020.js'
import { describe, expect, test } from 'vitest'
import { parse } from 'yaml'
import { ConfigSchema, jsonSchemaText } from '../../edge/config/schema.ts'
import { SCHEMA_FILE } from '../../edge/config/write-schema.ts'
import { unitsFor } from '../../edge/signals/units.ts'

const file = (name: string): string => readFileSync(join(import.meta.dirname, '../../config', name), 'utf8')

/** Every key that the schema knows by name. */
function keysOf(node: unknown, found = new Set<string>()): Set<string> {
  if (typeof node !== 'object' || node === null) return found
  if (Array.isArray(node)) for (const part of node) keysOf(part, found)
  else {
    const { properties = {} } = node as { properties?: Record<string, unknown> }
    for (const key of Object.keys(properties)) found.add(key)
    for (const [keyword, part] of Object.entries(node)) if (keyword !== 'examples') keysOf(part, found)
  }
  return found
}

test('the published schema is the one in use: else run node edge/config/write-schema.ts', () => {
  expect(readFileSync(SCHEMA_FILE, 'utf8')).toBe(jsonSchemaText())
})

describe('the published schema by itself', () => {
  // As an editor would use it: plain JSON Schema 2020-12, without this project's own keywords.
  const check = new Ajv2020({ strict: false }).compile(JSON.parse(readFileSync(SCHEMA_FILE, 'utf8')))

  test.each(['minimal.yaml', 'example.yaml'])('%s fits it', (name) => {
    expect(check(parse(file(name))), JSON.stringify(check.errors)).toBe(true)
  })

  test('an unknown key does not', () => {
    const config = parse(file('minimal.yaml'))
    expect(check({ ...config, colour: 'red' })).toBe(false)
    expect(check({ ...config, site: { ...config.site, colour: 'red' } })).toBe(false)
  })
})

describe('the example explains everything', () => {
  const example = file('example.yaml')

  test('every key of the schema stands in it', () => {
    const lacking = [...keysOf(ConfigSchema)].filter((key) => !new RegExp(`\\b${key}\\b`).test(example))
    expect(lacking).toEqual([])
  })

  test('every unit stands in it', () => {
    const words = new Set(example.split(/[\s,()']+/))
    expect(unitsFor('any').filter((unit) => !words.has(unit) && !['g', 'kg', 't', 'lb'].includes(unit))).toEqual([])
  })

  test('every default that it names is the one in the schema', () => {
    const defaults = [...jsonSchemaText().matchAll(/"default": "?([^"\n,]+)/g)].map((match) => match[1])
    const named = [...example.matchAll(/\(default ([^):]+)\)/g)].map((match) => match[1]!)
    const byRule = /^…|as here|where|1 and 0|false|offline|Basic|sign_|25 %|95 %|3 %/
    expect(named.filter((text) => !defaults.includes(text) && !byRule.test(text))).toEqual([])
  })
})
