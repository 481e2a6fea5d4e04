/** The source for a config, whatever its kind. */
import type { SourceConfig, TagRef } from '../config/config.ts'
import { createMqttSource } from './mqtt.ts'
import { createOpcUaSource } from './opcua.ts'
import type { SourcePorts } from './ports.ts'
import type { Source } from './source.ts'

/** @param isLook true for a short look beside a running monitor, whose session must not be taken over */
export function createSource(
  config: SourceConfig,
  tags: readonly TagRef[],
  ports: SourcePorts,
  isLook = false,
): Source {
  if (config.kind === 'opcua') return createOpcUaSource(config, tags, ports)
  if (!isLook) return createMqttSource(config, tags, ports)
  return createMqttSource({ ...config, clientId: `lastwrap-look-${process.pid}` }, tags, ports, false)
}
