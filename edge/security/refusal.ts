/** Why something was not done, as the key of a text with its parameters: whoever answers says it in the site's language. */
import { LastwrapError } from '../errors.ts'

export interface Refusal {
  key: string
  parameters?: Readonly<Record<string, string | number>>
}

/** Does it, or tells why it can't be kept. */
export const refusalOfWriting = (write: () => void): Refusal | undefined => {
  try {
    write()
    return undefined
  } catch (thrown) {
    if (!(thrown instanceof LastwrapError)) throw thrown
    return { key: 'access.not_kept', parameters: { reason: thrown.message } }
  }
}
