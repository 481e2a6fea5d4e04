/** What every live source is given from outside, so that it asks for nothing by itself. */
import type { Clock } from '../clock.ts'
import type { SecretRef } from '../config/config.ts'

/** The part of a logger that a source uses: changes of state, never samples. Pino fits. */
export interface SourceLog {
  debug(message: string): void
  info(message: string): void
  warn(message: string): void
}

export interface SourcePorts {
  readonly clock: Clock
  readonly log: SourceLog
  /** Folder for OPC UA certificates, `<data>/certificates/opcua`. */
  readonly certificatesDir: string
  /** The password behind a reference, read when a connection needs it. */
  readSecret(ref: SecretRef): Promise<string>
  /** Fixed for this installation: where a client's id is derived from. */
  readonly instanceId: string
}
