/** Sentences for what goes wrong with an MQTT broker: what, where, what to do. */
import { LastwrapError, reasonOf } from '../errors.ts'
import { TRIED_AGAIN } from './tried-again.ts'

export interface Broker {
  /** The source's name in the config. */
  name: string
  url: string
}

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

export function brokerTrouble(broker: Broker, thrown: unknown): LastwrapError {
  if (thrown instanceof LastwrapError) return thrown
  const at = `${broker.name} (${broker.url})`
  const failed = (code: LastwrapError['code'], text: string): LastwrapError =>
    new LastwrapError(code, text, { cause: thrown })
  const number = reasonCode(thrown) ?? -1
  if (NO_SIGN_IN.has(number)) {
    return failed(
      'sign_in_refused',
      `The broker ${at} refuses the user name or password: correct them under sources.${broker.name}.user, or allow the user at the broker.`,
    )
  }
  if (WRONG_CLIENT_ID.has(number)) {
    return failed(
      'wrong_input',
      `The broker ${at} refuses this client's id: write another one under sources.${broker.name}.client_id.`,
    )
  }
  if (BUSY.has(number)) return failed('source_unreachable', `The broker ${at} is busy.${TRIED_AGAIN}`)
  const code = String((thrown as { code?: unknown } | undefined)?.code ?? '')
  const reason = reasonOf(thrown).replace(/\s+/g, ' ').trim()
  if (/SELF_SIGNED|UNABLE_TO_VERIFY|UNABLE_TO_GET_ISSUER|CERT_UNTRUSTED/.test(code)) {
    return failed(
      'certificate_untrusted',
      `The broker ${at} shows a certificate that nobody here vouches for. To trust it is a person's decision: name the file of its authority under sources.${broker.name}.ca_file.`,
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
      `The certificate of the broker ${at} was made for another name: use that name in sources.${broker.name}.url, or renew the certificate.`,
    )
  }
  if (/^ERR_SSL|EPROTO/.test(code)) {
    return failed(
      'source_unreachable',
      `The broker ${at} does not speak TLS on that port: write mqtt:// instead of mqtts:// under sources.${broker.name}.url, or name its TLS port.`,
    )
  }
  if (/ENOTFOUND|EAI_AGAIN/.test(code)) {
    return failed(
      'source_unreachable',
      `Nothing on this network has the name in ${at}: correct sources.${broker.name}.url, or use the address in numbers.`,
    )
  }
  if (code === 'ECONNREFUSED') {
    return failed(
      'source_unreachable',
      `Nothing answers at ${at}: the machine is there, but no broker listens on that port.${TRIED_AGAIN}`,
    )
  }
  if (/ETIMEDOUT|EHOSTUNREACH|ENETUNREACH/.test(code) || /timeout/i.test(reason)) {
    return failed(
      'source_unreachable',
      `Nothing answers at ${at}: check that it is switched on, and the cable and the firewall.${TRIED_AGAIN}`,
    )
  }
  return failed('source_unreachable', `The connection to ${at} failed: ${reason.slice(0, 300)}.`)
}
