/**
 * What `lastwrap browse` finds: the variables of an OPC UA server, or the topics of a broker, each as it would be written into
 * a config. Only reads.
 */
import { LastwrapError } from './errors.ts'
import type { BrowseOptions, BrowseResult } from './sources/browse-row.ts'
import { browseMqtt } from './sources/mqtt-browse.ts'
import { browseOpcUa } from './sources/opcua-browse.ts'

export type { BrowseOptions, BrowseResult, BrowseRow } from './sources/browse-row.ts'

/** @throws LastwrapError with what a person can do. */
export async function browse(options: BrowseOptions): Promise<BrowseResult> {
  if (/^opc\.tcp:\/\//.test(options.endpoint)) return browseOpcUa(options)
  if (/^(mqtts?|wss?):\/\//.test(options.endpoint)) return browseMqtt(options)
  throw new LastwrapError(
    'wrong_input',
    `"${options.endpoint}" is no address of a server: it begins with opc.tcp:// for OPC UA, mqtt:// or mqtts:// for MQTT.`,
  )
}
