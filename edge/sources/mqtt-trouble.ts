/** Sentences for what goes wrong with an MQTT broker: what, where, what to do. */
import { LastwrapError, reasonOf } from '../errors.ts'
import { TRIED_AGAIN } from './tried-again.ts'

export interface Broker {
  /** The source's name in the config. */
  name: string
  url: string
}

/** A look has an address and no name. */
type NamedOrNot = Omit<Broker, 'name'> & { name: string | undefined }

/** CONNACK reason codes: MQTT 5.0 §3.2.2.2; 1 to 5 are those of MQTT 3.1.1 §3.2.2.3. */
const WRONG_VERSION = new Set([1, 0x84])
const WRONG_CLIENT_ID = new Set([2, 0x85])
const NO_SIGN_IN = new Set([4, 5, 0x86, 0x87, 0x8c])
const BUSY = new Set([3, 0x88, 0x89, 0x97, 0x9f])
/** DISCONNECT reason codes: MQTT 5.0 §3.14.2.1. */
export const SESSION_TAKEN_OVER = 0x8e

/** @param isTold - by the broker; else only that it closes right after each connection. */
export function idTaken(broker: Broker, clientId: string, isTold: boolean): LastwrapError {
  const at = `${broker.name} (${broker.url})`
  const what = isTold
    ? `Another client signs in at the broker ${at} with the id of this one, ${clientId}`
    : `The broker ${at} closes each connection right after it was made: most likely another client has the id of this one, ${clientId}`
  return new LastwrapError(
    'client_id_taken',
    `${what}: end the other one, or write an id of its own under sources.${broker.name}.client_id (a copied data directory carries the id along). It is tried again in half a minute to two.`,
  )
}

const reasonCode = (thrown: unknown): number | undefined => {
  const code = (thrown as { code?: unknown } | undefined)?.code
  return typeof code === 'number' ? code : undefined
}

export const refusesVersion = (thrown: unknown): boolean => WRONG_VERSION.has(reasonCode(thrown) ?? -1)

/** An option or the address of `browse`, which has no config. */
const OPTIONS = {
  user: '--user and --password-file',
  ca_file: '--ca-file',
  url: 'the address',
  client_id: 'the broker',
} as const
type Key = keyof typeof OPTIONS

/** Where a person corrects it: a key of the config, or an option of `browse`. */
const place = ({ name }: NamedOrNot, key: Key): string => (name === undefined ? OPTIONS[key] : `sources.${name}.${key}`)
const by = (broker: NamedOrNot, key: Key): string =>
  `${broker.name !== undefined ? 'under' : key === 'url' || key === 'client_id' ? 'in' : 'with'} ${place(broker, key)}`

export function brokerTrouble(broker: NamedOrNot, thrown: unknown): LastwrapError {
  if (thrown instanceof LastwrapError) return thrown
  const at = broker.name === undefined ? broker.url : `${broker.name} (${broker.url})`
  const again = broker.name === undefined ? '' : TRIED_AGAIN
  const failed = (code: LastwrapError['code'], text: string): LastwrapError =>
    new LastwrapError(code, text, { cause: thrown })
  const number = reasonCode(thrown) ?? -1
  if (NO_SIGN_IN.has(number)) {
    return failed(
      'sign_in_refused',
      `The broker ${at} refuses the user name or password: correct them ${by(broker, 'user')}, or allow the user at the broker.`,
    )
  }
  if (WRONG_CLIENT_ID.has(number)) {
    return failed(
      'wrong_input',
      `The broker ${at} refuses this client's id: write another one ${by(broker, 'client_id')}.`,
    )
  }
  if (BUSY.has(number)) return failed('source_unreachable', `The broker ${at} is busy.${again}`)
  const code = String((thrown as { code?: unknown } | undefined)?.code ?? '')
  const reason = reasonOf(thrown).replace(/\s+/g, ' ').trim()
  if (/SELF_SIGNED|UNABLE_TO_VERIFY|UNABLE_TO_GET_ISSUER|CERT_UNTRUSTED/.test(code)) {
    return failed(
      'certificate_untrusted',
      `The broker ${at} shows a certificate that nobody here vouches for. To trust it is a person's decision: name the file of its authority ${by(broker, 'ca_file')}.`,
    )
  }
  if (/CERT_HAS_EXPIRED|CERT_NOT_YET_VALID/.test(code)) {
    return failed(
      'certificate_untrusted',
      `The certificate of the broker ${at} has expired or is not valid yet: renew it at the broker, and check both clocks.`,
    )
  }
  if (code === 'ERR_TLS_CERT_ALTNAME_INVALID') {
    return failed(
      'certificate_untrusted',
      `The certificate of the broker ${at} was made for another name: use that name in ${place(broker, 'url')}, or renew the certificate.`,
    )
  }
  if (/^ERR_SSL|EPROTO/.test(code)) {
    return failed(
      'source_unreachable',
      `The broker ${at} does not speak TLS on that port: write mqtt:// instead of mqtts:// ${by(broker, 'url')}, or name its TLS port.`,
    )
  }
  if (/ENOTFOUND|EAI_AGAIN/.test(code)) {
    return failed(
      'source_unreachable',
      `Nothing on this network has the name in ${at}: correct ${place(broker, 'url')}, or use the address in numbers.`,
    )
  }
  if (code === 'ECONNREFUSED') {
    return failed(
      'source_unreachable',
      `Nothing answers at ${at}: the machine is there, but no broker listens on that port.${again}`,
    )
  }
  if (/ETIMEDOUT|EHOSTUNREACH|ENETUNREACH/.test(code) || /timeout/i.test(reason)) {
    return failed(
      'source_unreachable',
      `Nothing answers at ${at}: check that it is switched on, and the cable and the firewall.${again}`,
    )
  }
  return failed('source_unreachable', `The connection to ${at} failed: ${reason.slice(0, 300)}.`)
}
