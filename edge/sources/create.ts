/** The source for a config, whatever its kind. */
import type { SourceConfig, TagRef } from '../config/config.ts'
import { createMqttSource } from './mqtt.ts'
import { createOpcUaSource } from './opcua.ts'
import type { SourcePorts } from './ports.ts'
import type { Source } from './source.ts'

export const createSource = (config: SourceConfig, tags: readonly TagRef[], ports: SourcePorts): Source =>
  config.kind === 'opcua' ? createOpcUaSource(config, tags, ports) : createMqttSource(config, tags, ports)
