/** Is every secret that a config names where it says, for whoever runs this? Never shows one. */
import type { Config, SecretRef } from '../config/config.ts'
import { reasonOf } from '../errors.ts'
import { readSecret } from '../security/secrets.ts'

/** @returns one sentence for each that can't be read, in the order of the config. */
export async function missingSecrets(config: Pick<Config, 'sources' | 'database'>): Promise<string[]> {
  const named: [where: string, ref: SecretRef | undefined][] = [
    ...Object.values(config.sources).map(({ name, user }): [string, SecretRef | undefined] => [
      `sources.${name}.user`,
      user?.password,
    ]),
    ['database.token', config.database?.token],
    ['database.user', config.database?.user?.password],
  ]
  const sentences: string[] = []
  for (const [where, ref] of named) {
    if (ref === undefined) continue
    try {
      await readSecret(ref)
    } catch (thrown) {
      sentences.push(`${where}: ${reasonOf(thrown)}`)
    }
  }
  return sentences
}
