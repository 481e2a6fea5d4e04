/**
 * A config after it was read, checked and converted: SI units, defaults filled in, frozen.
 * `schema.ts` describes the file, `load.ts` turns one into the other.
 */
import type { SignalName } from '../signals/catalogue.ts'

export interface Config {
  readonly site: SiteConfig
  /** By name, in the file's order. */
  readonly sources: Readonly<Record<string, SourceConfig>>
  readonly materials: Readonly<Record<string, MaterialConfig>>
  /** In the file's order. */
  readonly unwinds: readonly UnwindConfig[]
  /** Lines that several unwinds feed, in the file's order. */
  readonly lines: readonly LineConfig[]
  readonly history: HistoryConfig
  readonly database: DatabaseConfig | undefined
  readonly web: WebConfig
  readonly wall: { readonly screenDiagonalM: number; readonly distanceM: number }
}

export interface SiteConfig {
  readonly name: string
  /** IANA name. */
  readonly timeZone: string
  readonly language: string
  /** `HH:MM`, local. */
  readonly shifts: readonly string[]
  /** How the site's own roll labels read when scanned: a regular expression with named groups. */
  readonly rollLabel: string | undefined
}

/** A secret is named in the file (`…_env`, `…_file`), never written there; it is read when the source starts. */
export interface SecretRef {
  readonly env?: string
  readonly file?: string
}

export interface UserConfig {
  readonly name: string
  readonly password: SecretRef | undefined
}

interface SourceCommon {
  readonly name: string
  /** Where a sample's time comes from. MQTT: `source` is `time_path`. */
  readonly time: 'source' | 'server' | 'arrival'
  /** No proof of life for so long makes every signal of the source stale, s. */
  readonly staleAfterS: number
  /** How often the peer has to prove that it lives, s (live only; default 2). */
  readonly keepAliveS: number
  readonly user: UserConfig | undefined
}

export interface OpcUaSourceConfig extends SourceCommon {
  readonly kind: 'opcua'
  readonly endpoint: string
  readonly security: {
    readonly policy: string
    readonly mode: 'none' | 'sign' | 'sign_and_encrypt'
  }
  readonly samplingMs: number
  readonly publishingMs: number
}

export interface MqttSourceConfig extends SourceCommon {
  readonly kind: 'mqtt'
  readonly url: string
  /** PEM file of the authority that signed the broker's certificate, for `mqtts:`. */
  readonly caFile: string | undefined
  readonly clientId: string | undefined
  /** Topic of the publisher's last will, and the payload that says it is gone. */
  readonly will: { readonly topic: string; readonly offline: string } | undefined
  /** Largest payload that is looked at, bytes. */
  readonly maxPayloadBytes: number
}

export type SourceConfig = OpcUaSourceConfig | MqttSourceConfig

export interface MaterialConfig {
  readonly coreDiameterM: number | undefined
  readonly caliperM: number | undefined
  readonly widthM: number | undefined
  /** kg/m². */
  readonly basisWeightKgPerM2: number | undefined
  readonly badAtCoreM: number | undefined
  readonly supplier: string | undefined
  readonly price: { readonly perM: number; readonly currency: string } | undefined
}

export interface TagRef {
  readonly source: string
  /** Node id or topic, without the value path. */
  readonly address: string
  /** Dotted path into a JSON payload, with `[n]` for arrays. */
  readonly valuePath: string | undefined
  readonly timePath: string | undefined
}

export interface SignalConfig {
  /** A signal's name, or `extra.NAME`. */
  readonly signal: SignalName | `extra.${string}`
  /** For one tag per spindle: which. */
  readonly spindle: string | undefined
  /** For a tag of a station along the web: its name. */
  readonly station?: string
  readonly tag: TagRef
  /** As the file states it, for screens and messages; undefined for booleans and text. */
  readonly unit: string | undefined
  /** Raw value × scale + offset is in the tag's unit. */
  readonly scale: number
  readonly offset: number
  /** Tag's unit × toSi is SI (m, m/s, turns/s, share 0..1, N/m). */
  readonly toSi: number
  /** Valid range in the tag's unit, after scale and offset. */
  readonly range: readonly [number, number] | undefined
  /** Bit of an integer word, 0 is the lowest. */
  readonly bit: number | undefined
  readonly invert: boolean
  /** True where the raw value (as text) is one of these. */
  readonly equals: readonly string[] | undefined
  /** Raw value (after `bit`, as text) → meaning. */
  readonly values: Readonly<Record<string, string>> | undefined
  /** The tag reports at least this often, s; undefined where it reports on change. */
  readonly periodS: number | undefined
  /** What an extra tag is: set by people (its changes are logged), what the hall was like at a splice, or the web guide's position. */
  readonly role: 'setting' | 'hall_temperature' | 'hall_humidity' | 'guide' | undefined
  /** Of the web guide: its position at either end, in the tag's unit. */
  readonly travel?: readonly [number, number]
}

export interface UnwindConfig {
  /** The id in the column `unwind`. */
  readonly id: string
  readonly name: string
  readonly roll: {
    readonly coreDiameterM: number
    readonly nominalCaliperM: number
    /** Out-of-round amplitude × line speed that the line still takes, m²/s. */
    readonly outOfRoundLimitM2PerS: number
  }
  readonly job: JobConfig
  readonly splicer: SplicerConfig
  readonly buffer: BufferConfig | undefined
  /** What is changed or cleaned at the splicer now and then. */
  readonly service: readonly ServiceConfig[]
  readonly signals: readonly SignalConfig[]
}

/** What a roll must be, where nobody enters what the job needs. */
export interface JobConfig {
  readonly material: string | undefined
  readonly widthM: number | undefined
  readonly winding: 'out' | 'in' | undefined
}

export interface SplicerConfig {
  readonly method: 'zero_speed' | 'flying' | 'stopped'
  readonly trigger: 'diameter' | 'length' | 'end_sensor' | 'manual'
  /** Where no tag carries it, m. */
  readonly spliceDiameterM: number | undefined
  /** Speed to which the line slows down on purpose, m/s. */
  readonly spliceSpeedMps: number | undefined
  /** Where learning starts: how long the web stands, s; and ramps, m/s². */
  readonly stopS: number
  readonly decelerationMps2: number
  readonly accelerationMps2: number
  /** By what share the unwind outruns the line while filling and refilling (0.12 is 12 %). */
  readonly overspeed: number
  readonly unwind: 'driven' | 'braked'
  readonly preparation: {
    readonly fetchS: number
    readonly loadS: number
    readonly splicePrepS: number
    readonly totalS: number
  }
  readonly pathLengthM: number
  readonly runOutRisk: number
  /** So long before its cycle the splicer takes no roll any more, s. */
  readonly refusesWithinS: number
  /** Web between the roll and the knife, m. */
  readonly tailM: number
  /** Wraps that shall stay on the core in any case. */
  readonly spareWraps: number
  /** Web left on each core beyond what the risk asks for, from which on maintenance is told, m. */
  readonly wasteLimitM: number
  readonly stations: readonly StationConfig[]
  /** Where the side-lay is read, and by how much the web may lie off; undefined where it isn't judged. */
  readonly sideLay: { readonly distanceM: number; readonly toleranceM: number } | undefined
  /** Pre-printed or pre-punched webs: their repeat length and tolerance along the web, and where the error is read. */
  readonly register: { readonly distanceM: number; readonly repeatM: number; readonly toleranceM: number } | undefined
}

/** A place along the web where a joint matters. */
export interface StationConfig {
  readonly name: string
  /** Web from the splice to there, what the buffer holds not counted, m. */
  readonly distanceM: number
  /** The joint has to be taken out here; not confirmed within so much web past it, it is in the product, m. */
  readonly confirmWithinM: number | undefined
}

export interface ServiceConfig {
  readonly item: string
  readonly name: string | undefined
  /** Splices after which it is due. */
  readonly every: number | undefined
  readonly hasBatch: boolean
}

/** Several unwinds whose webs meet in one line. */
export interface LineConfig {
  readonly id: string
  readonly name: string
  /** In the file's order. `pathM`: web from the buffer's end (without a buffer: from the splicer) to where the webs meet. */
  readonly unwinds: readonly { readonly id: string; readonly pathM: number }[]
  /** Two joints must be at least so far apart where the webs meet, m. */
  readonly jointSeparationM: number
  /** Rolls that the crew can prepare at once. */
  readonly crew: number
  /** Accepted probability that two joints come closer than allowed. */
  readonly meetingRisk: number
}

/** Positions are turned into stored web on the way in, so everything here is in metres of web. */
export interface BufferConfig {
  readonly mode: 'fill_before' | 'rides_full'
  /** Two points of the calibration: position in SI of the tag's unit (m, share or raw) → stored web. */
  readonly calibration: {
    readonly emptyPosition: number
    readonly emptyStoredM: number
    readonly fullPosition: number
    readonly fullStoredM: number
  }
  readonly runningStoredM: number
  readonly fillStoredM: number
  readonly tripStoredM: number
  readonly reserveM: number
}

export interface HistoryConfig {
  readonly keepSamplesS: number
  readonly keepTracesS: number
  readonly keepBadTracesS: number
  /** Who did what, s. */
  readonly keepAuditS: number
}

export interface DatabaseConfig {
  readonly url: string
  readonly dialect: 'v1' | 'v2'
  readonly org: string
  readonly bucket: string
  readonly token: SecretRef | undefined
  readonly user: UserConfig | undefined
}

export interface WebConfig {
  readonly host: string
  readonly port: number
  /** What anybody may do who has not signed in. */
  readonly withoutSignIn: 'nothing' | 'look' | 'operate'
  /** After so long without an act a session may only look on, s. */
  readonly idleLockS: number
  /** So long browsers are told to ask over TLS only, s; undefined where they are not told. */
  readonly hstsS: number | undefined
  readonly tls: 'self_made' | { readonly certificateFile: string; readonly keyFile: string } | undefined
  /** Where a reverse proxy shows the pages, without a slash at the end; empty at the root. */
  readonly basePath: string
  readonly allowedHosts: readonly string[]
  readonly trustedProxies: readonly string[]
}

/** Name, kind and purpose of the built-in source for what people enter. */
export const OPERATOR_SOURCE = 'operator'

/** The tag as a recording names it and a `Sample` carries it. */
export const tagAddress = (tag: Pick<TagRef, 'address' | 'valuePath'>): string =>
  tag.valuePath === undefined ? tag.address : `${tag.address}#${tag.valuePath}`
