/** The `signals` of one unwind: from keys of the file to `SignalConfig`, one for each tag. */
import { LastwrapError } from '../errors.ts'
import {
  LINE_STATES,
  SIGNAL_NAMES,
  SIGNALS,
  type SignalKind,
  type SignalName,
  STEP_PHASES,
} from '../signals/catalogue.ts'
import { factorToSi, listed, quantityOf, unitsFor } from '../signals/units.ts'
import { OPERATOR_SOURCE, type SignalConfig, type SourceConfig, type TagRef } from './config.ts'
import type { Path } from './document.ts'
import type { Loose, Reading } from './reading.ts'
import type { SignalFile, SignalsFile, TagFile } from './schema-signals.ts'
import { nearest, shown } from './validate.ts'

export interface KnownSources {
  /** Kinds of the sources that are sound. */
  kinds: Readonly<Record<string, SourceConfig['kind']>>
  /** All names that the file has, sound or not. */
  names: readonly string[]
}

/** Signals of the running roll: only they can have one tag per spindle. */
const PER_SPINDLE: readonly string[] = [
  'roll_diameter',
  'unwind_speed',
  'spindle_speed',
  'tension',
  'tension_setpoint',
  'roll_id',
  'material',
  'nominal_caliper',
  'splice_diameter',
] satisfies SignalName[]

/** Signals of a station along the web: they can have one tag per station. */
const PER_STATION: readonly string[] = ['joint_seen', 'reject_confirmed', 'finished_roll'] satisfies SignalName[]

const NODE_ID = /^(?:ns=\d+;|nsu=[^;]+;)?(?:i=\d+|[sgb]=.+)$/
const VALUE_PATH = /^(?:[^.[\]]+|\[\d+\])(?:\.[^.[\]]+|\[\d+\])*$/

const SCALE_DEFAULT = 1
const OFFSET_DEFAULT = 0
const INVERT_DEFAULT = false

/** An extra tag may be anything: number, state or text. */
const EXTRA: SignalKind = { value: 'number', dimension: 'any' }

function kindOf(signal: string): SignalKind {
  return Object.hasOwn(SIGNALS, signal) ? SIGNALS[signal as SignalName] : EXTRA
}

function resolveTag(reading: Reading, path: Path, raw: Loose<TagFile>, known: KnownSources): TagRef {
  const { source, address } = raw
  if (source === undefined) reading.missing([...path, 'source'], `name one of the sources (${known.names.join(', ')})`)
  else if (source !== OPERATOR_SOURCE && !known.names.includes(source)) {
    const near = nearest(source, known.names)
    const remedy = near === undefined ? `use ${listed(known.names)}, or add it to sources` : `did you mean ${near}?`
    reading.fault([...path, 'source'], `"${source}" is none of the sources; ${remedy}`)
  } else if (source === OPERATOR_SOURCE) {
    reading.fault(
      [...path, 'source'],
      'operator is built in, for what people enter, and needs no mapping: delete the signal',
    )
  }
  const kind = source !== undefined && Object.hasOwn(known.kinds, source) ? known.kinds[source] : undefined
  if (address === undefined) {
    const what =
      kind === 'mqtt'
        ? 'the topic'
        : kind === 'opcua'
          ? 'the node id, for example "ns=2;s=Press.LineSpeed"'
          : 'its node id or topic'
    reading.missing([...path, 'address'], `write ${what}`)
  } else if (kind === 'opcua' && !NODE_ID.test(address)) {
    reading.fault(
      [...path, 'address'],
      `${shown(address)} is no node id: write it like "ns=2;s=Press.LineSpeed" or "ns=3;i=1012"`,
    )
  } else if (kind === 'mqtt' && /[+#]/.test(address)) {
    reading.fault([...path, 'address'], `${shown(address)} has a wildcard: name one topic for one signal`)
  }
  if (raw.value_path !== undefined && !VALUE_PATH.test(raw.value_path)) {
    reading.fault(
      [...path, 'value_path'],
      `${shown(raw.value_path)} is no path: write it like "position" or "axes[0].position"`,
    )
  }
  if (kind === 'opcua' && raw.time_path !== undefined) {
    reading.fault([...path, 'time_path'], 'OPC UA values carry their time themselves: delete it')
  }
  return { source: source ?? '', address: address ?? '', valuePath: raw.value_path, timePath: raw.time_path }
}

/** Unit and factor of a number. */
function resolveUnit(reading: Reading, path: Path, signal: string, kind: SignalKind, raw: Loose<TagFile>) {
  const dimension = kind.dimension ?? 'any'
  const { unit } = raw
  if (unit === undefined) {
    if (dimension === 'any') return { unit, toSi: 1 }
    reading.missing([...path, 'unit'], `${signal} is a number, so write its unit: ${listed(unitsFor(dimension))}`)
    return { unit, toSi: Number.NaN }
  }
  // What has no place in the table (bar, °C) is shown as it stands.
  if (dimension === 'any' && quantityOf(unit) === undefined) return { unit, toSi: 1 }
  try {
    return { unit, toSi: factorToSi(unit, dimension) }
  } catch (error) {
    if (!(error instanceof LastwrapError)) throw error
    reading.fault([...path, 'unit'], error.message)
    return { unit, toSi: Number.NaN }
  }
}

/** What the meanings in a value map may be; undefined where anything may stand. */
function meaningsOf(signal: string, kind: SignalKind): readonly string[] | undefined {
  if (signal === 'splice_step') return STEP_PHASES
  if (signal === 'line_state') return LINE_STATES
  return kind.value === 'boolean' ? ['true', 'false'] : undefined
}

/** A bit is true or false; people write 1 and 0 too. */
const bitText = (key: string): string => (key === '1' ? 'true' : key === '0' ? 'false' : key)

function resolveValues(reading: Reading, path: Path, signal: string, kind: SignalKind, raw: Loose<TagFile>) {
  if (raw.values === undefined) return undefined
  const at = [...path, 'values']
  const allowed = meaningsOf(signal, kind)
  const pairs = Object.entries(raw.values).map(([key, meaning]) => {
    const text = String(meaning)
    if (allowed !== undefined && meaning !== undefined && !allowed.includes(text)) {
      const near = nearest(text, allowed)
      const hint = near === undefined ? '' : `; did you mean ${near}?`
      reading.fault([...at, key], `${shown(text)} is none of the meanings of ${signal}: ${listed(allowed)}${hint}`)
    }
    const rawText = raw.bit === undefined ? key : bitText(key)
    if (raw.bit !== undefined && rawText !== 'true' && rawText !== 'false') {
      reading.faultAtKey([...at, key], `${shown(key)} can't be the value of a bit: map true and false`)
    }
    return [rawText, text] as const
  })
  return Object.fromEntries(pairs)
}

/** Keys that have no meaning for this kind of signal are faults: somebody expects something of them. */
function refuseUseless(reading: Reading, path: Path, signal: string, kind: SignalKind, raw: Loose<TagFile>): void {
  if (kind === EXTRA) return
  const refuse = (key: keyof TagFile, why: string): void => {
    if (raw[key] !== undefined && raw[key] !== false) reading.faultAtKey([...path, key], `${why}: delete it`)
  }
  if (kind.value === 'number') {
    const why = `${signal} is a number, which has no states`
    for (const key of ['bit', 'invert', 'equals', 'values'] as const) refuse(key, why)
    return
  }
  const what = kind.value === 'boolean' ? 'true or false' : 'a text'
  for (const key of ['unit', 'range'] as const) refuse(key, `${signal} is ${what}, which has none`)
  if (raw.scale !== undefined && raw.scale !== SCALE_DEFAULT)
    reading.faultAtKey([...path, 'scale'], `${signal} is ${what}: delete it`)
  if (raw.offset !== undefined && raw.offset !== OFFSET_DEFAULT)
    reading.faultAtKey([...path, 'offset'], `${signal} is ${what}: delete it`)
  if (kind.value === 'text')
    for (const key of ['equals', 'invert'] as const) refuse(key, `${signal} is a text: use values`)
}

function resolveOne(
  reading: Reading,
  path: Path,
  signal: SignalConfig['signal'],
  spindle: string | undefined,
  raw: Loose<TagFile>,
  known: KnownSources,
): Omit<SignalConfig, 'role'> {
  const kind = kindOf(signal)
  refuseUseless(reading, path, signal, kind, raw)
  const [low, high] = raw.range ?? []
  if (low !== undefined && high !== undefined && low >= high) {
    reading.fault([...path, 'range'], `[${low}, ${high}] is empty: write the lower value first`)
  }
  if (raw.scale === 0) reading.fault([...path, 'scale'], '0 would make every value the same: write another number')
  if (raw.equals !== undefined && raw.values !== undefined) {
    reading.faultAtKey([...path, 'equals'], 'values is given too: keep one of the two')
  }
  if (raw.equals !== undefined && raw.bit !== undefined) {
    reading.faultAtKey([...path, 'equals'], 'bit is given too, and a bit is true or false already: keep one of the two')
  }
  if ((signal === 'splice_step' || signal === 'line_state') && raw.values === undefined) {
    const meanings = meaningsOf(signal, kind) ?? []
    reading.warn(
      path,
      `has no values, so only the texts ${listed(meanings, 'and')} mean anything: map the tag's values to them`,
    )
  }
  const { unit, toSi } =
    kind.value === 'number' ? resolveUnit(reading, path, signal, kind, raw) : { unit: undefined, toSi: 1 }
  return {
    signal,
    spindle,
    tag: resolveTag(reading, path, raw, known),
    unit,
    scale: raw.scale ?? SCALE_DEFAULT,
    offset: raw.offset ?? OFFSET_DEFAULT,
    toSi,
    range: low === undefined || high === undefined ? undefined : [low, high],
    bit: raw.bit,
    invert: raw.invert ?? INVERT_DEFAULT,
    equals: raw.equals?.filter((value) => value !== undefined).map(String),
    values: resolveValues(reading, path, signal, kind, raw),
    periodS: reading.optionalQuantity([...path, 'period'], raw.period, 'duration', {
      min: 0.001,
      max: 31_536_000,
      words: '1 ms and 1 y',
    }),
  }
}

/** The ends of the web guide's travel: without them a position says nothing of what is left. */
function resolveTravel(reading: Reading, path: Path, raw: Loose<SignalFile>): Pick<SignalConfig, 'travel'> {
  const [low, high] = raw.travel ?? []
  if (raw.role !== 'guide') {
    if (raw.travel !== undefined)
      reading.faultAtKey([...path, 'travel'], 'belongs to role: guide: add that, or delete it')
    return {}
  }
  if (low === undefined || high === undefined) {
    reading.missing([...path, 'travel'], 'write the guide’s position at either end in the unit, for example [-25, 25]')
    return {}
  }
  if (low >= high) reading.fault([...path, 'travel'], `[${low}, ${high}] is empty: write the lower end first`)
  return { travel: [low, high] }
}

function resolveSignal(
  reading: Reading,
  path: Path,
  signal: SignalConfig['signal'],
  raw: Loose<SignalFile>,
  known: KnownSources,
): SignalConfig[] {
  if (raw.role !== undefined && !signal.startsWith('extra.')) {
    reading.faultAtKey([...path, 'role'], `what ${signal} is says its name: delete it`)
  }
  const grouped = raw.by_spindle ?? raw.by_station
  if (grouped === undefined) {
    const one = resolveOne(reading, path, signal, undefined, raw, known)
    return [{ ...one, role: raw.role, ...resolveTravel(reading, path, raw) }]
  }
  const key = raw.by_spindle === undefined ? 'by_station' : 'by_spindle'
  const [can, remedy] =
    key === 'by_spindle'
      ? [PER_SPINDLE.includes(signal), `${signal} is not of one roll, so it has one tag: write source and address`]
      : [PER_STATION.includes(signal), `${signal} is not of a station along the web: write source and address`]
  if (!can) reading.faultAtKey([...path, key], remedy)
  const asDefault: readonly unknown[] = [undefined, SCALE_DEFAULT, OFFSET_DEFAULT, INVERT_DEFAULT]
  for (const [other, value] of Object.entries(raw)) {
    if (other !== key && !asDefault.includes(value)) {
      reading.faultAtKey([...path, other], `${key} is given too: write it at each ${key.slice('by_'.length)}`)
    }
  }
  return Object.entries(grouped).map(([name, tag]) => {
    const spindle = key === 'by_spindle' ? name : undefined
    const one = { ...resolveOne(reading, [...path, key, name], signal, spindle, tag ?? {}, known), role: undefined }
    return key === 'by_station' ? { ...one, station: name } : one
  })
}

/** All signals in the file's order. */
export function resolveSignals(
  reading: Reading,
  path: Path,
  raw: Loose<SignalsFile>,
  known: KnownSources,
): SignalConfig[] {
  const found: SignalConfig[] = []
  for (const [key, value] of Object.entries(raw)) {
    if (key === 'extra') {
      for (const [name, extra] of Object.entries((value ?? {}) as Record<string, Loose<SignalFile>>)) {
        if (Object.hasOwn(raw, `extra.${name}`)) {
          reading.faultAtKey([...path, 'extra', name], `extra.${name} is given too: keep one of the two`)
        }
        found.push(...resolveSignal(reading, [...path, 'extra', name], `extra.${name}`, extra, known))
      }
    } else {
      found.push(
        ...resolveSignal(
          reading,
          [...path, key],
          key as SignalConfig['signal'],
          (value ?? {}) as Loose<SignalFile>,
          known,
        ),
      )
    }
  }
  checkSpindles(reading, path, raw, found)
  const [first, second] = found.filter(({ role }) => role === 'guide')
  if (first !== undefined && second !== undefined) {
    const name = second.signal.slice('extra.'.length)
    const at = Object.hasOwn(raw, second.signal) ? [second.signal] : ['extra', name]
    reading.fault([...path, ...at, 'role'], `${first.signal} is the web guide already: keep one of the two`)
  }
  return found
}

/** Signals by spindle name the same spindles, and something says which of them runs. */
function checkSpindles(reading: Reading, path: Path, raw: Loose<SignalsFile>, found: readonly SignalConfig[]): void {
  const spindles = [...new Set(found.map((signal) => signal.spindle).filter((spindle) => spindle !== undefined))]
  const bySpindle = SIGNAL_NAMES.filter((name) => raw[name]?.by_spindle !== undefined)
  if (spindles.length === 0) return
  for (const name of bySpindle) {
    const own = Object.keys(raw[name]?.by_spindle ?? {})
    const lacking = spindles.filter((spindle) => !own.includes(spindle))
    if (lacking.length > 0) {
      reading.faultAtKey(
        [...path, name, 'by_spindle'],
        `lacks ${listed(lacking, 'and')}, which another signal has: add ${lacking.length > 1 ? 'them' : 'it'}`,
      )
    }
  }
  const active = found.find((signal) => signal.signal === 'active_spindle')
  if (active === undefined) {
    if (spindles.length > 1) {
      reading.missing(
        [...path, 'active_spindle'],
        `by_spindle has ${listed(spindles, 'and')}, so map the tag that says which one runs`,
      )
    }
    return
  }
  for (const [key, meaning] of Object.entries(active.values ?? {})) {
    if (!spindles.includes(meaning)) {
      reading.fault(
        [...path, 'active_spindle', 'values', key],
        `${shown(meaning)} is none of the spindles: use ${listed(spindles)}`,
      )
    }
  }
}
