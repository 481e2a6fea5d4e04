/** The engineering units that an OPC UA server states of its variables (OPC 10000-8, property EngineeringUnits). */
import type { OpcUaSourceConfig } from '../config/config.ts'
import { closeOpcUa, connectOpcUa, type OpcUaConnection } from './opcua-connect.ts'
import type { SourcePorts } from './ports.ts'

/** OPC 10000-6 node id of HasProperty. */
const HAS_PROPERTY = 'ns=0;i=46'
/** Nodes in one request: small servers take no more. */
const PORTION = 50

/** As below, over a connection of its own. */
export async function readUnits(
  config: OpcUaSourceConfig,
  nodeIds: readonly string[],
  ports: SourcePorts,
): Promise<Map<string, string>> {
  const connection = await connectOpcUa(config, ports)
  try {
    return await unitsOf(connection, nodeIds)
  } finally {
    await closeOpcUa(connection)
  }
}

/** @returns unit by node id, as the server writes it (`m/min`, `r/min`); nodes without one are left out. */
export async function unitsOf(
  { session, library }: OpcUaConnection,
  nodeIds: readonly string[],
): Promise<Map<string, string>> {
  const units = new Map<string, string>()
  for (let from = 0; from < nodeIds.length; from += PORTION) {
    const nodes = nodeIds.slice(from, from + PORTION)
    const results = await session.browse(
      nodes.map((nodeId) => ({
        nodeId,
        referenceTypeId: HAS_PROPERTY,
        includeSubtypes: true,
        browseDirection: library.BrowseDirection.Forward,
        nodeClassMask: library.NodeClass.Variable,
        resultMask: 63,
      })),
    )
    const found = nodes.flatMap((nodeId, index) => {
      const property = results[index]?.references?.find(({ browseName }) => browseName.name === 'EngineeringUnits')
      return property === undefined ? [] : [{ nodeId, property: property.nodeId.toString() }]
    })
    if (found.length === 0) continue
    const values = await session.read(
      found.map(({ property }) => ({ nodeId: property, attributeId: library.AttributeIds.Value })),
    )
    for (const [index, { nodeId }] of found.entries()) {
      const text = unitText(values[index])
      if (text !== undefined) units.set(nodeId, text)
    }
  }
  return units
}

/** The text of an EUInformation value. */
export function unitText(
  value: { value?: { value?: { displayName?: { text?: unknown } } } } | undefined,
): string | undefined {
  const text = value?.value?.value?.displayName?.text
  return typeof text === 'string' && text !== '' ? text : undefined
}
