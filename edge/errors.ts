/**
 * Every failure that a person can do something about, by code.
 *
 * A message is one clear sentence: what is wrong, where, what to do. `wrong_input` ends a command with status 2,
 * everything else with status 1.
 */
export type ErrorCode =
  | 'wrong_input' // a file, option or config that has to be changed by the person
  | 'config_invalid' // a config with one or more faults; `faults` lists them
  | 'certificate_untrusted' // an OPC UA server shows a certificate that nobody has trusted yet
  | 'sign_in_refused' // a server or broker refuses the user
  | 'client_id_taken' // another client signs in at the broker with the same id
  | 'source_unreachable' // nothing answers at that address
  | 'tag_unknown' // the server answers, the tag does not exist
  | 'store_failing' // the embedded store cannot be written
  | 'database_refused' // the time-series database refuses what is sent
  | 'not_allowed' // a setting that would be insecure
  | 'cut_short' // a file that ends too early
  | 'interrupted' // a person ended the command before its end

export class LastwrapError extends Error {
  readonly code: ErrorCode
  /** For `config_invalid`: every fault at once, each a sentence with line, key and remedy. */
  readonly faults: readonly string[]

  constructor(code: ErrorCode, message: string, options: { cause?: unknown; faults?: readonly string[] } = {}) {
    super(message, options.cause === undefined ? undefined : { cause: options.cause })
    this.name = 'LastwrapError'
    this.code = code
    this.faults = options.faults ?? []
  }

  /** The exit status of a command that ends with this error. */
  get exitStatus(): 1 | 2 {
    return this.code === 'wrong_input' || this.code === 'config_invalid' ? 2 : 1
  }
}

/** The text of anything that was thrown. */
export const reasonOf = (thrown: unknown): string => (thrown instanceof Error ? thrown.message : String(thrown))

/** Why a file can't be used, without the code and the path that the system puts around it: the sentence has the path already. */
export const fileReasonOf = (thrown: unknown): string =>
  reasonOf(thrown)
    .replace(/^E[A-Z]+: /, '')
    .replace(/, \w+( '.*')?$/, '')
