/** What a command without a daemon gives to its sources. */
import { join } from 'node:path'
import { systemClock } from '../clock.ts'
import { instanceId } from '../security/instance-id.ts'
import { readSecret } from '../security/secrets.ts'
import type { SourcePorts } from '../sources/ports.ts'
import { makeDataDir } from './data-dir.ts'

/** @param suffix - keeps the broker session of a command apart from the daemon's. */
export async function sourcePorts(dataDir: string, suffix: string): Promise<SourcePorts> {
  makeDataDir(dataDir)
  return {
    clock: systemClock,
    certificatesDir: join(dataDir, 'certificates', 'opcua'),
    readSecret,
    instanceId: `${await instanceId(dataDir)}-${suffix}`,
    log: {
      debug: () => undefined,
      info: () => undefined,
      warn: () => undefined,
    },
  }
}
