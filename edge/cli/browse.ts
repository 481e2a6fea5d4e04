/** The verb `browse`: what a server or broker offers, to choose tags from. */
import { browse } from '../browse.ts'
import { browseAsTable, browseAsTsv } from '../browse-print.ts'
import { systemClock } from '../clock.ts'
import type { OpcUaSourceConfig, SecretRef } from '../config/config.ts'
import { LastwrapError } from '../errors.ts'
import { Progress } from './progress.ts'
import { sourcePorts } from './source-ports.ts'

export interface BrowseVerbOptions {
  search?: string[]
  user?: string
  passwordFile?: string
  caFile?: string
  policy: string
  mode: string
  data: string
  timeout: number
}

const MODES = ['none', 'sign', 'sign_and_encrypt'] as const

export async function browseVerb(endpoint: string, options: BrowseVerbOptions): Promise<void> {
  const progress = new Progress()
  const password: SecretRef =
    options.passwordFile === undefined ? { env: 'LASTWRAP_PASSWORD' } : { file: options.passwordFile }
  refuseWithoutPassword(options)
  const result = await browse({
    endpoint,
    security: securityOf(options),
    listenS: options.timeout,
    ports: await sourcePorts(options.data, 'browse'),
    ...(options.user !== undefined && { user: { name: options.user, password } }),
    ...(options.caFile !== undefined && { caFile: options.caFile }),
    ...(options.search !== undefined && { search: options.search.join(' ') }),
    onProgress: (seen) => progress.show(`${seen} looked at`, systemClock.nowMs()),
  })
  progress.done()
  const isTerminal = process.stdout.isTTY === true
  console.log(isTerminal ? browseAsTable(result.rows) : browseAsTsv(result.rows))
  if (result.isCut) console.error('There is more than is shown: narrow it with --search.')
  if (result.rows.length === 0) {
    const why = options.search === undefined ? '' : ` that holds all of "${options.search.join(' ')}"`
    console.error(`${endpoint} shows no variable${why} (${result.seen} looked at).`)
  }
}

/** Said before anything is asked, in the words of this command: a config's keys mean nothing here. */
function refuseWithoutPassword({ user, passwordFile }: BrowseVerbOptions): void {
  if (user === undefined || passwordFile !== undefined || (process.env['LASTWRAP_PASSWORD'] ?? '') !== '') return
  throw new LastwrapError(
    'wrong_input',
    `The password of ${user} is missing: put it into the environment variable LASTWRAP_PASSWORD, or into a file that --password-file names.`,
  )
}

function securityOf(options: BrowseVerbOptions): OpcUaSourceConfig['security'] {
  const mode = MODES.find((known) => known === options.mode)
  if (mode === undefined) {
    throw new LastwrapError('wrong_input', `--mode ${options.mode} is unknown: write none, sign or sign_and_encrypt.`)
  }
  return { mode, policy: mode === 'none' ? 'None' : options.policy }
}
