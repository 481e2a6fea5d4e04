/** What browsing a server or broker asks for and finds. */
import type { OpcUaSourceConfig, UserConfig } from '../config/config.ts'
import type { SourcePorts } from './ports.ts'

export interface BrowseRow {
  /** Node id or topic: what `address` takes. */
  address: string
  /** For MQTT: what `value_path` takes; undefined where the payload itself is the value. */
  valuePath: string | undefined
  /** Browse names from the Objects folder down, joined by `/`; the topic for MQTT. */
  path: string
  type: string
  /** As the server states it (EUInformation); undefined where it states none. */
  unit: string | undefined
  value: string | undefined
  /** Undefined for MQTT, which knows none. */
  quality: 'good' | 'uncertain' | 'bad' | undefined
}

export interface BrowseOptions {
  /** `opc.tcp://…`, `mqtt://…` or `mqtts://…`. */
  endpoint: string
  /** How messages name the peer; a source's name where it is one. */
  name?: string
  /** OPC UA. */
  security?: OpcUaSourceConfig['security']
  user?: UserConfig
  /** MQTT: PEM file of the broker's authority. */
  caFile?: string
  /** Words that all stand in address or path, in any case. */
  search?: string
  /** MQTT: topics to listen to, and for how long, s. */
  topic?: string
  listenS?: number
  /** Nothing is listed beyond. */
  mostRows?: number
  mostDepth?: number
  ports: SourcePorts
  onRow?: (row: BrowseRow) => void
  /** How many nodes or messages were looked at so far. */
  onProgress?: (seen: number) => void
}

export interface BrowseResult {
  rows: BrowseRow[]
  /** Nodes or messages that were looked at. */
  seen: number
  /** There was more than `mostRows` or deeper than `mostDepth`. */
  isCut: boolean
}

/** Whether all words of a search stand in a text, in any case. */
export function matchesSearch(search: string | undefined, text: string): boolean {
  if (search === undefined) return true
  const lower = text.toLowerCase()
  return search
    .toLowerCase()
    .split(/\s+/)
    .every((word) => lower.includes(word))
}
