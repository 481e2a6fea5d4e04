/**
 * Keeps the house in order: data flows one way, the core is pure, and what runs needs no development package. Reads the
 * source as text; a rule that is broken names file and import.
 */
import { readdirSync, readFileSync } from 'node:fs'
import { builtinModules } from 'node:module'
import { dirname, join, relative, resolve } from 'node:path'
import { describe, expect, it } from 'vitest'

const ROOT = resolve(import.meta.dirname, '..')

/** Data flows from left to right; a folder imports only from its left. What stands in one place doesn't know its neighbour. */
const FLOW = [
  ['sources'],
  ['signals'],
  ['cycle'],
  ['estimators'],
  ['consistency'],
  ['outcome', 'advice', 'trends'],
  ['joints'],
  ['alarms'],
  ['history', 'outputs', 'api'],
] as const

/** Contracts between the parts: they hold hardly more than types, and everybody may import them. */
const CONTRACTS = [
  'edge/columns.ts',
  'edge/splice-details.ts',
  'edge/splice-review.ts',
  'edge/entries.ts',
  'edge/joint-columns.ts',
  'edge/sample.ts',
  'edge/errors.ts',
  'edge/plain-data.ts',
  'edge/trend-views.ts',
  'edge/shift.ts',
  'edge/splice-words.ts',
  'edge/config/config.ts',
  'edge/signals/catalogue.ts',
]
/** Contracts that everybody may import as types only: they lie in the folder that fulfils them. */
const TYPE_CONTRACTS = [
  'edge/clock.ts',
  'edge/sources/source.ts',
  'edge/alarms/facts.ts',
  'edge/history/store.ts',
  'edge/outputs/output.ts',
  'edge/api/messages.ts',
  'edge/api/messages-entries.ts',
  'edge/api/messages-handover.ts',
  'edge/api/messages-history.ts',
  'edge/api/messages-signals.ts',
  'edge/api/messages-screen.ts',
  'edge/api/messages-access.ts',
  'edge/config/tags.ts',
]

/** What stands beside the flow, and who may use it. */
const BESIDE: Readonly<Record<string, readonly string[]>> = {
  security: ['sources', 'history', 'outputs', 'api'],
  messages: ['consistency', 'outcome', 'advice', 'alarms', 'history', 'outputs', 'api'],
  // The config names signals and their units, and is looked at when it is applied.
  signals: ['config'],
}

/** Folders, and files beside them, without I/O, clock, logger or random source. */
const CORE =
  /^edge\/(signals|cycle|estimators|consistency|outcome|advice|trends|joints|alarms|messages)\/|^edge\/pipeline[\w-]*\.ts$/
/** Packages that compute and do nothing else. */
const PURE_PACKAGES = ['fastest-levenshtein']
/** They join the parts, so they may import everything; the demo plant is none of the parts. The verbs of the command join too. */
const JOINS = /^edge\/(cli\/)?[\w-]+\.ts$/

const edge = filesIn('edge')
const dashboard = filesIn('dashboard')

interface Source {
  path: string
  /** Without comments. */
  code: string
  imports: { from: string; typeOnly: boolean }[]
}

describe('the flow sources → signals → cycle → estimators → outcome → alarms → history, outputs, api', () => {
  it('is there', () => {
    const folders = new Set(edge.map(folderOf))
    for (const folder of FLOW.flat()) expect(folders).toContain(folder)
  })

  it('has no import against it', () => {
    const against = edge
      .filter(({ path }) => !JOINS.test(path) && !path.startsWith('edge/demo/'))
      .flatMap((source) =>
        source.imports.filter((used) => !mayImport(source, used)).map((used) => `${source.path} → ${used.from}`),
      )
    expect(against).toEqual([])
  })

  it('is joined without the demo plant, which only a joining file starts and which knows none of the parts', () => {
    const parts = FLOW.flat() as readonly string[]
    const wrong = edge.flatMap(({ path, imports }) =>
      imports
        .filter(({ from }) =>
          path.startsWith('edge/demo/')
            ? parts.includes(from.split('/')[1] ?? '') && !CONTRACTS.includes(from)
            : from.startsWith('edge/demo/') && !JOINS.test(path),
        )
        .map(({ from }) => `${path} → ${from}`),
    )
    expect(wrong).toEqual([])
  })

  it('ends at the dashboard, which knows contracts and texts only', () => {
    const allowed = (from: string) =>
      !from.startsWith('edge/') || from.startsWith('edge/messages/') || [...CONTRACTS, ...TYPE_CONTRACTS].includes(from)
    expect(dashboard.length).toBeGreaterThan(10)
    const wrong = dashboard.flatMap(({ path, imports }) =>
      imports.filter(({ from }) => !allowed(from)).map(({ from }) => `${path} → ${from}`),
    )
    expect(wrong).toEqual([])
  })

  it('is measured against a truth that shares nothing with it but names', () => {
    const wrong = filesIn('test/truth').flatMap(({ path, imports }) =>
      path.endsWith('.test.ts')
        ? []
        : imports
            .filter(({ from }) => from.startsWith('edge/') && !CONTRACTS.includes(from))
            .map(({ from }) => `${path} → ${from}`),
    )
    expect(wrong).toEqual([])
  })
})

describe('the migrations of the history', () => {
  it('are numbered one by one: two of one number would leave a file between two schemas', () => {
    const names = readdirSync(join(ROOT, 'edge/history/migrations')).filter((name) => name.endsWith('.sql'))
    const numbers = names.map((name) => Number(name.slice(0, 4))).sort((a, b) => a - b)
    expect(numbers.length).toBeGreaterThan(0)
    expect(numbers).toEqual(numbers.map((_, index) => index + 1))
  })
})

describe('the core', () => {
  const core = edge.filter(({ path }) => CORE.test(path))

  it('imports nothing from Node, no package that is not as pure, and no clock', () => {
    expect(core.length).toBeGreaterThan(10)
    const allowed = (from: string) =>
      PURE_PACKAGES.includes(from) || (from.startsWith('edge/') && from !== 'edge/clock.ts')
    const wrong = core.flatMap(({ path, imports }) =>
      imports.filter(({ from }) => !allowed(from)).map(({ from }) => `${path} → ${from}`),
    )
    expect(wrong).toEqual([])
  })

  it('has no clock, timer, logger, random source or I/O', () => {
    const impure =
      /\b(Date\.now|performance\.|new Date\(\s*\)|Math\.random|crypto\.|console\.|process\.|set(Timeout|Interval|Immediate)\b|queueMicrotask|fetch\()/
    expect(core.flatMap(({ path, code }) => found(impure, path, code))).toEqual([])
  })

  it('gets the time as an argument, as everybody but the clock does', () => {
    const reads = /\bDate\.now\b|new Date\(\s*\)/
    const elsewhere = edge
      .filter(({ path }) => path !== 'edge/clock.ts')
      .flatMap(({ path, code }) => found(reads, path, code))
    expect(elsewhere).toEqual([])
  })
})

describe('what runs', () => {
  const manifest = JSON.parse(readFileSync(join(ROOT, 'package.json'), 'utf8')) as {
    dependencies: Record<string, string>
  }

  it('needs no package that only development has', () => {
    const builtin = new Set(builtinModules)
    const packages = edge.flatMap(({ path, imports }) =>
      imports
        .filter(
          ({ from, typeOnly }) =>
            !typeOnly &&
            !from.startsWith('edge/') &&
            from !== 'package.json' &&
            !from.startsWith('node:') &&
            !builtin.has(from),
        )
        .map(({ from }) => ({
          path,
          name: from
            .split('/')
            .slice(0, from.startsWith('@') ? 2 : 1)
            .join('/'),
        })),
    )
    expect(packages.length).toBeGreaterThan(5)
    expect(packages.filter(({ name }) => !(name in manifest.dependencies))).toEqual([])
  })

  it('never promises and never presses, in any text towards people', () => {
    const texts = readdirSync(join(ROOT, 'edge/messages')).filter((name) => name.endsWith('.json'))
    expect(texts).toContain('en.json')
    const folders = ['edge/messages', 'dashboard/messages']
    for (const folder of folders) {
      for (const name of readdirSync(join(ROOT, folder), { recursive: true }) as string[]) {
        if (!name.endsWith('.json')) continue
        const values = Object.values(JSON.parse(readFileSync(join(ROOT, folder, name), 'utf8')) as object)
        expect(
          values.filter((text) => /\b(un)?safe(ly)?\b|\bhurry/i.test(JSON.stringify(text))),
          name,
        ).toEqual([])
      }
    }
  })
})

function mayImport(source: Source, used: { from: string; typeOnly: boolean }): boolean {
  if (!used.from.startsWith('edge/') || CONTRACTS.includes(used.from)) return true
  if (used.typeOnly && TYPE_CONTRACTS.includes(used.from)) return true
  const from = folderOf({ path: used.from })
  const here = folderOf(source)
  if (from === here) return true
  if (BESIDE[from]?.includes(here)) return true
  const place = FLOW.findIndex((folders) => (folders as readonly string[]).includes(here))
  const placeOfUsed = FLOW.findIndex((folders) => (folders as readonly string[]).includes(from))
  return placeOfUsed >= 0 && placeOfUsed < place
}

function folderOf({ path }: { path: string }): string {
  return path.split('/').length > 2 ? (path.split('/')[1] ?? '') : ''
}

function found(pattern: RegExp, path: string, code: string): string[] {
  return code.split('\n').flatMap((line) => (pattern.test(line) ? [`${path}: ${line.trim()}`] : []))
}

function filesIn(folder: string): Source[] {
  return (readdirSync(join(ROOT, folder), { recursive: true }) as string[])
    .filter((name) => /\.tsx?$/.test(name) && !/(^|\/)(dist|node_modules)\//.test(name))
    .sort()
    .map((name) => {
      const path = `${folder}/${name}`
      const code = withoutComments(readFileSync(join(ROOT, path), 'utf8'))
      return { path, code, imports: importsOf(path, code) }
    })
}

/** Line comments only where a line begins with one or after a blank: `https://` is none. */
function withoutComments(text: string): string {
  return text.replace(/\/\*[\s\S]*?\*\//g, '').replace(/(^|\s)\/\/.*$/gm, '$1')
}

function importsOf(path: string, code: string): Source['imports'] {
  const statements = code.matchAll(/^(?:import|export)\s+(type\s)?([^'";]*?\bfrom\s+)?'([^']+)'/gm)
  const dynamic = code.matchAll(/\bimport\('([^']+)'\)/g)
  return [
    ...[...statements].map(([, type, names, from]) => ({
      from: resolved(path, from ?? ''),
      typeOnly: type !== undefined || onlyTypes(names ?? ''),
    })),
    ...[...dynamic].map(([, from]) => ({ from: resolved(path, from ?? ''), typeOnly: false })),
  ]
}

/** `{ type A, type B } from`. */
function onlyTypes(names: string): boolean {
  const inside = /^\{([^}]*)\}/.exec(names.trim())?.[1]
  if (inside === undefined) return false
  const parts = inside
    .split(',')
    .map((part) => part.trim())
    .filter((part) => part !== '')
  return parts.length > 0 && parts.every((part) => part.startsWith('type '))
}

/** A relative import as a path from the root; a package or `node:` as it stands. */
function resolved(path: string, from: string): string {
  return from.startsWith('.') ? relative(ROOT, resolve(ROOT, dirname(path), from)) : from
}
