/**
 * Holds plain data against the schema: faults as sentences, refused parts taken out, defaults filled in. What is left has
 * the file's type, except that required keys may be missing (each was told).
 */
import type { ErrorObject } from 'ajv'
import { Ajv2020 } from 'ajv/dist/2020.js'
import { closest, distance } from 'fastest-levenshtein'
import { LastwrapError } from '../errors.ts'
import { listed, type Measured, parseQuantity, quoted } from '../signals/units.ts'
import type { Path } from './document.ts'
import { keyText, type Loose, type Reading } from './reading.ts'
import { type ConfigFile, ConfigSchema } from './schema.ts'

/** The few schema keywords that this file reads itself. */
interface SchemaNode {
  $ref?: string
  type?: string | string[]
  enum?: string[]
  const?: unknown
  properties?: Record<string, SchemaNode>
  patternProperties?: Record<string, SchemaNode>
  oneOf?: SchemaNode[]
  anyOf?: SchemaNode[]
  default?: unknown
  description?: string
  examples?: unknown[]
  pattern?: string
  'x-dimension'?: Measured
}

type RootSchema = SchemaNode & { $defs: Record<string, SchemaNode> }

/** A copy: a section under a wrong name is looked through like any other, and the names are judged here. */
const ROOT = JSON.parse(JSON.stringify(ConfigSchema)) as RootSchema
const resolved = (node: SchemaNode): SchemaNode =>
  node.$ref === undefined ? node : (ROOT.$defs[node.$ref.replace('#/$defs/', '')] ?? node)
const NAMES = ['sources', 'unwinds', 'lines'].map((section) => {
  const node = resolved(ROOT.properties?.[section] ?? {})
  const [[pattern, child] = ['', {}]] = Object.entries(node.patternProperties ?? {})
  node.patternProperties = { '': child }
  return { section, name: new RegExp(pattern) }
})
const ajv = new Ajv2020({ allErrors: true, verbose: true, discriminator: true, strict: false, validateFormats: false })
const check = ajv.compile(ROOT)

type Mapping = Record<string, unknown>
const isMapping = (value: unknown): value is Mapping =>
  typeof value === 'object' && value !== null && !Array.isArray(value)

/** The branch of a union that `data` is of: by `kind`, else the mapping for a mapping. */
function branch(node: SchemaNode, data: unknown): SchemaNode {
  const kind = isMapping(data) ? data['kind'] : undefined
  const byKind = node.oneOf?.find((option) => option.properties?.['kind']?.const === kind)
  const byShape = node.anyOf?.find((option) => (option.type === 'object') === isMapping(data))
  return byKind ?? byShape ?? node
}

function childSchema(node: SchemaNode, key: string): SchemaNode | undefined {
  if (node.properties !== undefined && Object.hasOwn(node.properties, key)) return node.properties[key]
  return Object.entries(node.patternProperties ?? {}).find(([pattern]) => new RegExp(pattern).test(key))?.[1]
}

/** A section whose keys are all commented out reads as null: it is an empty section. */
function emptySections(schema: SchemaNode, data: unknown): unknown {
  const whole = resolved(schema)
  if (data === null && whole.type === 'object') return {}
  if (!isMapping(data)) return data
  const node = branch(whole, data)
  for (const [key, value] of Object.entries(data)) {
    const child = childSchema(node, key)
    if (child !== undefined) data[key] = emptySections(child, value)
  }
  return data
}

function fillDefaults(schema: SchemaNode, data: unknown): unknown {
  const node = branch(resolved(schema), data)
  if (!isMapping(data)) return data
  for (const [key, child] of Object.entries(node.properties ?? {})) {
    if (data[key] === undefined && child.default !== undefined) data[key] = structuredClone(child.default)
  }
  for (const [key, value] of Object.entries(data)) {
    const child = childSchema(node, key)
    if (child !== undefined) data[key] = fillDefaults(child, value)
  }
  return data
}

/** A JSON pointer into `data`; indexes of lists become numbers. */
function pathOf(pointer: string, data: unknown): (string | number)[] {
  const parts = pointer === '' ? [] : pointer.slice(1).split('/')
  let value = data
  return parts.map((part) => {
    const key = part.replaceAll('~1', '/').replaceAll('~0', '~')
    const isIndex = Array.isArray(value)
    value = (value as Mapping | undefined)?.[key]
    return isIndex ? Number(key) : key
  })
}

function valueAt(data: unknown, path: Path): unknown {
  let value = data
  for (const part of path) value = (value as Mapping | undefined)?.[part]
  return value
}

function remove(data: unknown, path: Path): void {
  const parent = valueAt(data, path.slice(0, -1))
  const key = path.at(-1)
  if (key === undefined) return
  // A refused item stays in its list as undefined, so that the places of the others stay true.
  if (Array.isArray(parent)) parent[Number(key)] = undefined
  else if (isMapping(parent)) delete parent[key]
}

/** How a value of the file is named in a sentence. */
export function shown(value: unknown): string {
  if (value === null || value === undefined) return 'nothing'
  if (Array.isArray(value)) return 'a list'
  if (typeof value === 'object') return 'a section with keys'
  return typeof value === 'string' ? quoted(value) : String(value)
}

const SECRET_KEY = /^(password|passwd|pass|token|secret)$/i

/** The nearest of `known`, if it is near enough to have been meant. */
export function nearest(word: string, known: readonly string[]): string | undefined {
  const plainly = (text: string): string => text.toLowerCase().replaceAll(/[-_ ]/g, '')
  const same = known.find((candidate) => plainly(candidate) === plainly(word))
  if (same !== undefined || known.length === 0) return same
  const near = closest(word, known as string[])
  return distance(near, word) <= Math.max(1, Math.floor(Math.min(word.length, near.length) / 3)) ? near : undefined
}

const listedKeys = (keys: readonly string[]): string => (keys.length > 0 ? `keys here are ${listed(keys, 'and')}` : '')

function wrongName(reading: Reading, parent: Path, key: string): void {
  const letters = keyText(parent) === 'sources' ? 'letters, digits, . _ and -' : 'lower-case letters, digits and _'
  reading.faultAtKey([...parent, key], `"${key}" can't be a name here: use ${letters} only`)
}

function unknownKey(reading: Reading, parent: Path, key: string, node: SchemaNode, present: Mapping): void {
  const path = [...parent, key]
  const known = Object.keys(node.properties ?? {})
  if (keyText(parent) === 'web' && /^password/.test(key)) {
    reading.faultAtKey(
      path,
      'there is no password for all: delete it, and open the set-up link that the first start prints',
    )
    return
  }
  if (SECRET_KEY.test(key)) {
    const kept = known.filter((name) => /_(env|file)$/.test(name) && name !== 'ca_file')
    const where = kept.length > 0 ? listed(kept) : 'password_env or password_file of user'
    reading.faultAtKey(path, `a secret never stands in the config: delete it and name where it is kept, with ${where}`)
    return
  }
  if (known.length === 0) {
    wrongName(reading, parent, key)
    return
  }
  // A key that stands there already was not meant a second time.
  const near = nearest(
    key,
    known.filter((name) => !Object.hasOwn(present, name)),
  )
  if (near !== undefined) reading.meant([...parent, near])
  const remedy = near === undefined ? listedKeys(known) : `did you mean ${near}?`
  reading.faultAtKey(path, `Lastwrap does not know this key here; ${remedy}`)
}

const exampleOf = (node: SchemaNode): string => {
  const example = node.examples?.[0] ?? node.default
  return typeof example === 'string' ? `, for example "${example}"` : ''
}

function missingKey(reading: Reading, path: Path, node: SchemaNode): void {
  const what = node.description?.replace(/\.$/, '') ?? 'a section of its own'
  const choices = node.enum === undefined ? '' : ` Write ${listed(node.enum)}`
  reading.missing(path, `add it (${what})${exampleOf(node)}${choices === '' ? '' : `;${choices.toLowerCase()}`}`)
}

const TYPE_WORDS: Record<string, string> = {
  object: 'a section of keys',
  array: 'a list',
  string: 'text',
  number: 'a number',
  integer: 'a whole number',
  boolean: 'true or false',
}

/** The sentence for a value that is wrong in itself. */
function wrongValue(error: ErrorObject, value: unknown): string {
  const node = error.parentSchema as SchemaNode
  const dimension = node['x-dimension']
  if (dimension !== undefined && value !== null && !isMapping(value) && !Array.isArray(value)) {
    try {
      parseQuantity(value, dimension, node.examples?.[0] as string | undefined)
    } catch (fault) {
      if (fault instanceof LastwrapError) return fault.message
      throw fault
    }
  }
  if (node.enum !== undefined) {
    const near = typeof value === 'string' ? nearest(value, node.enum) : undefined
    return `${shown(value)} is none of ${listed(node.enum)}${near === undefined ? '' : `; did you mean ${near}?`}`
  }
  if (error.keyword === 'type') {
    const wanted = (node.anyOf ?? [node]).flatMap((option) =>
      option.enum === undefined ? [option.type ?? []].flat().map((type) => TYPE_WORDS[type] ?? type) : option.enum,
    )
    return `${shown(value)} stands here, but ${listed(wanted)} belongs here${exampleOf(node)}`
  }
  switch (error.keyword) {
    case 'const':
      return `${shown(value)} stands here, but this program reads ${shown(node.const)}`
    case 'pattern':
      return `${shown(value)} has not the form that belongs here${exampleOf(node)}`
    case 'minLength':
    case 'minItems':
    case 'minProperties':
      return 'is empty: write what belongs here, or delete the key'
    case 'maxItems':
      return `has too many items: ${error.params['limit']} belong here`
    case 'uniqueItems':
      return 'has an item twice: delete one of the two'
    case 'minimum':
      return `${shown(value)} is below ${error.params['limit']}`
    case 'maximum':
      return `${shown(value)} is above ${error.params['limit']}`
    default:
      return `${error.message ?? 'is not what belongs here'}: compare it with the example config`
  }
}

/**
 * Checks `data` against the schema and returns what is sound of it, with defaults; `data` itself is used up.
 * Faults go to `reading`.
 */
export function validate(data: unknown, reading: Reading): Loose<ConfigFile> {
  const whole = isMapping(data) ? emptySections(ROOT, data) : data
  if (!isMapping(whole)) {
    reading.fault(
      [],
      `${shown(whole)} stands here, but a config begins with keys such as version, site, sources and unwinds`,
    )
    return {}
  }
  for (const { section, name } of NAMES) {
    const named = whole[section]
    if (!isMapping(named)) continue
    for (const key of Object.keys(named)) if (!name.test(key)) wrongName(reading, [section], key)
  }
  if (check(whole)) return fillDefaults(ROOT, whole) as Loose<ConfigFile>

  const errors = check.errors ?? []
  const refused: Path[] = []
  for (const error of errors) {
    const path = pathOf(error.instancePath, whole)
    const value = valueAt(whole, path)
    const node = error.parentSchema as SchemaNode
    // A union's own verdict repeats what its branches said; of the branches only the one that fits the value counts.
    if (error.keyword === 'anyOf' || error.keyword === 'oneOf') {
      if (!isMapping(value)) {
        reading.fault(path, wrongValue({ ...error, keyword: 'type' } as ErrorObject, value))
        refused.push(path)
      }
      continue
    }
    if (error.keyword === 'discriminator') {
      const kinds = (node.oneOf ?? []).map((option) => String(option.properties?.['kind']?.const))
      const kind = (value as Mapping | undefined)?.['kind']
      const near = typeof kind === 'string' ? nearest(kind, kinds) : undefined
      if (kind !== undefined) {
        reading.fault(
          [...path, 'kind'],
          `${shown(kind)} is none of ${listed(kinds)}${near === undefined ? '' : `; did you mean ${near}?`}`,
        )
      }
      refused.push(path)
    } else if (error.keyword === 'additionalProperties') {
      const key = String(error.params['additionalProperty'])
      unknownKey(reading, path, key, node, isMapping(value) ? value : {})
      refused.push([...path, key])
    }
  }
  // Second, so that a key that was probably meant is not told as missing too.
  for (const error of errors) {
    const path = pathOf(error.instancePath, whole)
    const node = error.parentSchema as SchemaNode
    if (error.keyword === 'required') {
      const key = String(error.params['missingProperty'])
      const isKind = node.oneOf !== undefined && key === 'kind'
      if (isKind) reading.missing([...path, key], 'write opcua or mqtt')
      else missingKey(reading, [...path, key], resolved(node.properties?.[key] ?? {}))
    } else if (!['anyOf', 'oneOf', 'discriminator', 'additionalProperties'].includes(error.keyword)) {
      // What a union's branches say of the value itself, the union's own verdict told.
      if (/\/anyOf\/\d+\/(type|enum)$/.test(error.schemaPath)) continue
      reading.fault(path, wrongValue(error, valueAt(whole, path)))
      refused.push(path)
    }
  }
  for (const path of refused) remove(whole, path)
  return fillDefaults(ROOT, whole) as Loose<ConfigFile>
}
