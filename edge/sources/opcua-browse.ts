/** Walks an OPC UA server's address space breadth first and reads what it finds, in portions that small servers take. */
import type {
  BrowseResult as BrowseResultOfServer,
  ClientSession,
  DataValue,
  ReferenceDescription,
} from 'node-opcua-client'
import { type BrowseOptions, type BrowseResult, type BrowseRow, matchesSearch } from './browse-row.ts'
import { closeOpcUa, connectOpcUa, type OpcUaConnection } from './opcua-connect.ts'
import type { OpcUa } from './opcua-library.ts'
import { severity } from './opcua-subscription.ts'
import { unitText } from './opcua-units.ts'
import { unpack } from './opcua-value.ts'

const MOST_ROWS = 5000
const MOST_DEPTH = 20
/** Nodes in one request; servers that allow fewer say so. */
const PORTION = 100
const MOST_REFERENCES = 1000
/** OPC 10000-6 node ids: Objects folder, the server's own diagnostics, HierarchicalReferences, HasProperty. */
const OBJECTS = 'ns=0;i=85'
const SERVER = 'ns=0;i=2253'
const HIERARCHICAL = 'ns=0;i=33'
const HAS_PROPERTY = 'ns=0;i=46'
const LONGEST_VALUE = 60

interface Found {
  nodeId: string
  path: string
  depth: number
  isVariable: boolean
  unitNodeId: string | undefined
}

export async function browseOpcUa(options: BrowseOptions): Promise<BrowseResult> {
  const { ports, mostRows = MOST_ROWS } = options
  const connection = await connectOpcUa(
    {
      name: options.name ?? new URL(options.endpoint).host,
      isLook: options.name === undefined,
      endpoint: options.endpoint,
      security: options.security ?? { mode: 'sign_and_encrypt', policy: 'Basic256Sha256' },
      user: options.user,
      keepAliveS: 5,
    },
    ports,
  )
  try {
    const portion = await portionOf(connection)
    const walk = await walkDown(connection, portion, options)
    const wanted = walk.found
      .filter((each) => each.isVariable && matchesSearch(options.search, `${each.nodeId} ${each.path}`))
      .slice(0, mostRows)
    const rows: BrowseRow[] = []
    const reader = new Reader(connection.session, connection.library)
    for (let from = 0; from < wanted.length; from += portion) {
      for (const row of await reader.rows(wanted.slice(from, from + portion))) {
        rows.push(row)
        options.onRow?.(row)
      }
    }
    return { rows, seen: walk.found.length, isCut: walk.isCut }
  } finally {
    await closeOpcUa(connection)
  }
}

async function portionOf({ library, session }: OpcUaConnection): Promise<number> {
  const limits = await library.readOperationLimits(session)
  const stated = [limits.maxNodesPerBrowse, limits.maxNodesPerRead].filter((each) => each !== undefined && each > 0)
  return Math.min(PORTION, ...(stated as number[]))
}

async function walkDown(
  { session, library }: OpcUaConnection,
  portion: number,
  options: BrowseOptions,
): Promise<{ found: Found[]; isCut: boolean }> {
  const { mostRows = MOST_ROWS, mostDepth = MOST_DEPTH } = options
  const known = new Set<string>([OBJECTS, SERVER])
  const found: Found[] = []
  let isCut = false
  let matching = 0
  let level: Found[] = [{ nodeId: OBJECTS, path: '', depth: 0, isVariable: false, unitNodeId: undefined }]
  while (level.length > 0) {
    const below: Found[] = []
    for (let from = 0; from < level.length; from += portion) {
      if (matching >= mostRows) return { found, isCut: true }
      const parents = level.slice(from, from + portion)
      const references = await referencesOf(session, library, parents)
      for (const [index, parent] of parents.entries()) {
        for (const reference of references[index] ?? []) {
          const nodeId = reference.nodeId.toString()
          const name = reference.browseName.name ?? ''
          const isStandardProperty =
            reference.referenceTypeId.toString() === HAS_PROPERTY && reference.browseName.namespaceIndex === 0
          if (isStandardProperty) {
            if (name === 'EngineeringUnits') parent.unitNodeId = nodeId
            continue
          }
          if (known.has(nodeId)) continue
          known.add(nodeId)
          const each: Found = {
            nodeId,
            path: parent.path === '' ? name : `${parent.path}/${name}`,
            depth: parent.depth + 1,
            isVariable: reference.nodeClass === library.NodeClass.Variable,
            unitNodeId: undefined,
          }
          if (each.depth > mostDepth) {
            isCut = true
            continue
          }
          below.push(each)
          found.push(each)
          if (each.isVariable && matchesSearch(options.search, `${nodeId} ${each.path}`)) matching += 1
        }
      }
      options.onProgress?.(found.length)
    }
    level = below
  }
  return { found, isCut: isCut || matching > mostRows }
}

/** The references of each node, in the same order; a node that can't be browsed has none. */
async function referencesOf(
  session: ClientSession,
  library: OpcUa,
  nodes: readonly Found[],
): Promise<ReferenceDescription[][]> {
  const { NodeClass, BrowseDirection } = library
  const results = await session.browse(
    nodes.map((node) => ({
      nodeId: node.nodeId,
      referenceTypeId: HIERARCHICAL,
      includeSubtypes: true,
      browseDirection: BrowseDirection.Forward,
      nodeClassMask: NodeClass.Object | NodeClass.Variable,
      resultMask: 63,
    })),
  )
  const all: ReferenceDescription[][] = []
  for (const result of results) {
    const references = [...(result.references ?? [])]
    let more: Buffer | undefined = result.continuationPoint ?? undefined
    while (more !== undefined && more.length > 0 && references.length < MOST_REFERENCES * 10) {
      const next: BrowseResultOfServer = await session.browseNext(more, false)
      references.push(...(next.references ?? []))
      more = next.continuationPoint ?? undefined
    }
    all.push(references)
  }
  return all
}

/** Reads values, types and units; remembers the names of types. */
class Reader {
  readonly #session: ClientSession
  readonly #library: OpcUa
  readonly #typeNames = new Map<string, string>()

  constructor(session: ClientSession, library: OpcUa) {
    this.#session = session
    this.#library = library
  }

  async rows(nodes: readonly Found[]): Promise<BrowseRow[]> {
    const { AttributeIds } = this.#library
    const values = await this.#read(nodes.map((node) => ({ nodeId: node.nodeId, attributeId: AttributeIds.Value })))
    const types = await this.#read(nodes.map((node) => ({ nodeId: node.nodeId, attributeId: AttributeIds.DataType })))
    const withUnit = nodes.filter((node) => node.unitNodeId !== undefined)
    const units = await this.#read(
      withUnit.map((node) => ({ nodeId: node.unitNodeId as string, attributeId: AttributeIds.Value })),
    )
    const unitOf = new Map(withUnit.map((node, index) => [node.nodeId, unitText(units[index])]))
    await this.#nameTypes(types)
    return nodes.map((node, index) => {
      const value = values[index]
      return {
        address: node.nodeId,
        valuePath: undefined,
        path: node.path,
        type: this.#typeText(types[index], value),
        unit: unitOf.get(node.nodeId),
        value: valueText(value),
        quality: value === undefined ? 'bad' : severity(value.statusCode),
      }
    })
  }

  async #read(nodes: { nodeId: string; attributeId: number }[]): Promise<DataValue[]> {
    return nodes.length === 0 ? [] : this.#session.read(nodes)
  }

  async #nameTypes(types: readonly DataValue[]): Promise<void> {
    const unknown = new Set<string>()
    for (const type of types) {
      const nodeId = type.value?.value?.toString()
      if (nodeId !== undefined && !this.#typeNames.has(nodeId)) unknown.add(nodeId)
    }
    const ids = [...unknown]
    const names = await this.#read(
      ids.map((nodeId) => ({ nodeId, attributeId: this.#library.AttributeIds.BrowseName })),
    )
    for (const [index, nodeId] of ids.entries()) this.#typeNames.set(nodeId, names[index]?.value?.value?.name ?? nodeId)
  }

  #typeText(type: DataValue | undefined, value: DataValue | undefined): string {
    const name = this.#typeNames.get(type?.value?.value?.toString() ?? '') ?? ''
    const isArray = value?.value !== undefined && value.value !== null && (value.value.arrayType as number) !== 0
    return isArray ? `${name}[${value.value.value?.length ?? 0}]` : name
  }
}

/** EUInformation (OPC 10000-8 §5.6.3): what people read stands in its display name. */
function valueText(value: DataValue | undefined): string | undefined {
  const variant = value?.value
  if (variant === undefined || variant === null || variant.value === null || variant.value === undefined)
    return undefined
  const type = variant.dataType as number
  const plain = (each: unknown): string => plainText(unpack(each, type))
  const isArray = (variant.arrayType as number) !== 0
  const text = isArray ? `[${Array.from(variant.value as Iterable<unknown>, plain).join(', ')}]` : plain(variant.value)
  const oneLine = text.replace(/\s+/g, ' ')
  return oneLine.length > LONGEST_VALUE ? `${oneLine.slice(0, LONGEST_VALUE - 1)}…` : oneLine
}

const plainText = (value: unknown): string => (value instanceof Date ? value.toISOString() : String(value))
