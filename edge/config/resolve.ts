/** From a file of the schema's type to a `Config`: SI, secrets by reference, and what the schema can't check. */

import { ROLL_FIELDS } from '../entries.ts'
import { LastwrapError } from '../errors.ts'
import { toSi } from '../signals/units.ts'
import { checkTags } from './check-tags.ts'
import type { Config, DatabaseConfig, LineConfig, MaterialConfig, SourceConfig } from './config.ts'
import type { Loose, Reading } from './reading.ts'
import { isLoopback, refuseSecretInUrl, resolveSecret, resolveSource, resolveUser } from './resolve-source.ts'
import { CALIPER, CORE, PATH, RISK, resolveUnwind, WIDTH } from './resolve-unwind.ts'
import { resolveWeb } from './resolve-web.ts'
import type { ConfigFile } from './schema.ts'
import { shown } from './validate.ts'

type Raw = Loose<ConfigFile>

function resolveSite(reading: Reading, raw: Raw['site']): Config['site'] {
  const timeZone = raw?.time_zone
  if (timeZone !== undefined && !isTimeZone(timeZone)) {
    reading.fault(
      ['site', 'time_zone'],
      `${shown(timeZone)} is no time zone: write its IANA name, for example "Europe/Berlin" or "America/Chicago"`,
    )
  }
  const shifts = (raw?.shifts ?? []).filter((shift) => shift !== undefined)
  return {
    name: raw?.name ?? '',
    timeZone: timeZone ?? 'UTC',
    language: raw?.language ?? 'en',
    shifts: shifts.toSorted(),
    rollLabel: resolveRollLabel(reading, raw?.roll_label),
  }
}

const LABEL_GROUP = /\(\?<(\w+)>/g

function resolveRollLabel(reading: Reading, pattern: string | undefined): string | undefined {
  if (pattern === undefined) return undefined
  const path = ['site', 'roll_label']
  const known: readonly string[] = ROLL_FIELDS
  const groups = [...pattern.matchAll(LABEL_GROUP)].map(([, name]) => name ?? '')
  const unknown = groups.find((name) => !known.includes(name))
  if (groups.length === 0 || unknown !== undefined) {
    reading.fault(
      path,
      `${unknown === undefined ? 'has no named group' : `names the group ${shown(unknown)}`}: its groups are called ${known.join(', ')}, as in "(?<roll_id>R\\d+)"`,
    )
    return undefined
  }
  try {
    return new RegExp(pattern).source
  } catch (error) {
    if (!(error instanceof SyntaxError)) throw error
    reading.fault(path, `${shown(pattern)} is no regular expression: ${error.message}`)
    return undefined
  }
}

function isTimeZone(name: string): boolean {
  // Offsets such as +01:00 pass for zones too, but know no daylight saving.
  if (!/^[A-Za-z]/.test(name)) return false
  try {
    return new Intl.DateTimeFormat('en', { timeZone: name }) !== undefined
  } catch (error) {
    if (error instanceof RangeError) return false
    throw error
  }
}

/** "0.09 EUR/m": amount, currency code, unit of length. */
function resolvePrice(reading: Reading, path: string[], text: string | undefined): MaterialConfig['price'] {
  if (text === undefined) return undefined
  const [, amount, currency, unit] = /^(\d+(?:\.\d+)?)\s*([A-Z]{3})\s*\/\s*(\S+)$/.exec(text.trim()) ?? []
  if (amount === undefined || currency === undefined || unit === undefined) {
    reading.fault(
      path,
      `${shown(text)} is no price of a length: write amount, currency code and unit, for example "0.09 EUR/m" or "0.03 USD/ft"`,
    )
    return undefined
  }
  try {
    return { perM: Number(amount) / toSi(1, unit, 'length'), currency }
  } catch (error) {
    if (!(error instanceof LastwrapError)) throw error
    reading.fault(path, error.message)
    return undefined
  }
}

function resolveMaterial(
  reading: Reading,
  name: string,
  raw: NonNullable<Raw['materials']>[string] = {},
): MaterialConfig {
  const at = (key: string) => ['materials', name, key]
  return {
    coreDiameterM: reading.optionalQuantity(at('core_diameter'), raw.core_diameter, 'length', CORE),
    caliperM: reading.optionalQuantity(at('caliper'), raw.caliper, 'length', CALIPER),
    widthM: reading.optionalQuantity(at('width'), raw.width, 'length', WIDTH),
    basisWeightKgPerM2: reading.optionalQuantity(at('basis_weight'), raw.basis_weight, 'basis_weight', {
      min: 0.001,
      max: 10,
      words: '1 g/m2 and 10 kg/m2',
    }),
    badAtCoreM: reading.optionalQuantity(at('bad_at_core'), raw.bad_at_core, 'length', {
      min: 0,
      max: 10_000,
      words: '0 m and 10 km',
    }),
    supplier: raw.supplier,
    price: resolvePrice(reading, at('price'), raw.price),
  }
}

function resolveDatabase(reading: Reading, directory: string, raw: Raw['database']): DatabaseConfig | undefined {
  if (raw === undefined) return undefined
  const url = refuseSecretInUrl(reading, ['database', 'url'], raw.url, 'use token_env, token_file or user')
  const token = resolveSecret(reading, directory, ['database'], 'token', raw.token_env, raw.token_file)
  const user = resolveUser(reading, directory, ['database', 'user'], raw.user)
  if (token !== undefined && user !== undefined) {
    reading.faultAtKey(['database', 'user'], 'a token is given too: keep the token for v2, the user for v1')
  }
  if (url?.protocol === 'http:' && !isLoopback(url.hostname) && (token ?? user) !== undefined) {
    reading.warn(['database', 'url'], 'sends the secret over the network unencrypted: use https: if the database can')
  }
  return { url: raw.url ?? '', dialect: raw.dialect ?? 'v2', org: raw.org ?? '', bucket: raw.bucket ?? '', token, user }
}

const HOUR = { seconds: 3600, words: '1 h' }
const YEAR = { seconds: 31_536_000, words: '1 y' }

function resolveHistory(reading: Reading, raw: Raw['history']): Config['history'] {
  const keep = (key: 'keep_samples' | 'keep_traces' | 'keep_bad_traces' | 'keep_audit', least = HOUR) =>
    reading.quantity(['history', key], raw?.[key], 'duration', {
      min: least.seconds,
      max: 100 * YEAR.seconds,
      words: `${least.words} and 100 y`,
    })
  return {
    keepSamplesS: keep('keep_samples'),
    keepTracesS: keep('keep_traces'),
    keepBadTracesS: keep('keep_bad_traces'),
    keepAuditS: keep('keep_audit', YEAR),
  }
}

function resolveLines(reading: Reading, raw: Raw['lines'], unwinds: readonly string[]): LineConfig[] {
  const lineOf = new Map<string, string>()
  return Object.entries(raw ?? {}).map(([id, line = {}]) => {
    const at = ['lines', id]
    if (Object.keys(line.unwinds ?? {}).length === 1) {
      reading.fault(
        [...at, 'unwinds'],
        'names one unwind only, and joints of one never meet: name the others, or delete it',
      )
    }
    const members = Object.entries(line.unwinds ?? {}).map(([unwind, member]) => {
      const path = [...at, 'unwinds', unwind]
      if (!unwinds.includes(unwind)) {
        reading.faultAtKey(path, `there is no unwind ${shown(unwind)}: name one of ${unwinds.join(', ') || 'unwinds'}`)
      }
      const other = lineOf.get(unwind)
      if (other !== undefined) reading.faultAtKey(path, `the unwind feeds the line ${other} already: keep it in one`)
      lineOf.set(unwind, id)
      return { id: unwind, pathM: reading.quantity([...path, 'path'], member?.path, 'length', PATH) }
    })
    return {
      id,
      name: line.name ?? id,
      unwinds: members,
      jointSeparationM: reading.quantity([...at, 'joint_separation'], line.joint_separation, 'length', PATH),
      crew: line.crew ?? 1,
      meetingRisk: reading.quantity([...at, 'meeting_risk'], line.meeting_risk, 'share', RISK),
    }
  })
}

/**
 * @param raw what is sound of the file, defaults filled in
 * @param written the file as it is
 * @param directory of the config file: relative paths start there
 * The result means something only where `reading` has no faults.
 */
export function resolveConfig(reading: Reading, raw: Raw, written: Raw, directory: string): Config {
  const sources: Record<string, SourceConfig> = Object.fromEntries(
    Object.entries(raw.sources ?? {}).map(([name, source]) => [
      name,
      resolveSource(reading, directory, ['sources', name], name, source ?? {}),
    ]),
  )
  if (Object.hasOwn(sources, 'operator')) {
    reading.faultAtKey(['sources', 'operator'], 'the name is taken by what people enter: choose another one')
  }
  const names = typeof written.sources === 'object' ? Object.keys(written.sources ?? {}) : []
  if (written.sources !== undefined && names.length === 0)
    reading.fault(['sources'], 'is empty: add a PLC (opcua) or a broker (mqtt)')
  const known = { kinds: Object.fromEntries(Object.entries(sources).map(([name, { kind }]) => [name, kind])), names }
  const unwinds = Object.entries(raw.unwinds ?? {}).map(([id, unwind]) =>
    resolveUnwind(reading, ['unwinds', id], id, unwind ?? {}, written.unwinds?.[id] ?? {}, known),
  )
  checkTags(reading, sources, unwinds)
  const materials = Object.fromEntries(
    Object.entries(raw.materials ?? {}).map(([name, material]) => [name, resolveMaterial(reading, name, material)]),
  )
  return {
    site: resolveSite(reading, raw.site),
    sources,
    materials,
    unwinds,
    // Refused parts of an unwind are told once, not as a missing unwind too.
    lines: resolveLines(reading, raw.lines, Object.keys(written.unwinds ?? {})),
    history: resolveHistory(reading, raw.history),
    database: resolveDatabase(reading, directory, raw.database),
    web: resolveWeb(reading, directory, raw.web),
    wall: {
      screenDiagonalM: reading.quantity(['wall', 'screen'], raw.wall?.screen, 'length', {
        min: 0.05,
        max: 50,
        words: '50 mm and 50 m',
      }),
      distanceM: reading.quantity(['wall', 'distance'], raw.wall?.distance, 'length', {
        min: 0.1,
        max: 200,
        words: '0.1 m and 200 m',
      }),
    },
  }
}
