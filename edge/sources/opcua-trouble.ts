/** Sentences for what goes wrong with an OPC UA server: what, where, what to do. */
import { LastwrapError, reasonOf } from '../errors.ts'
import { TRIED_AGAIN } from './tried-again.ts'

/** Where a sentence speaks of one server. */
export interface Peer {
  /** The source's name in the config; undefined where somebody looks at a server that no config names. */
  name: string | undefined
  endpoint: string
}

const at = (peer: Peer): string => (peer.name === undefined ? peer.endpoint : `${peer.name} (${peer.endpoint})`)
const again = (peer: Peer): string => (peer.name === undefined ? '' : TRIED_AGAIN)
/** Where a person corrects it: a key of the config, or an option of `browse`. */
const place = (peer: Peer, key: 'user' | 'endpoint'): string =>
  peer.name !== undefined ? `sources.${peer.name}.${key}` : key === 'user' ? '--user' : 'the endpoint'

/** A failed connection as an error with its code; what is unknown keeps the library's own words. */
export function connectTrouble(peer: Peer, thrown: unknown, ownCertificate: string | undefined): LastwrapError {
  if (thrown instanceof LastwrapError) return thrown
  const reason = reasonOf(thrown).replace(/\s+/g, ' ').trim()
  const failed = (code: LastwrapError['code'], text: string): LastwrapError =>
    new LastwrapError(code, text, { cause: thrown })
  if (/BadIdentityTokenRejected|BadUserAccessDenied|BadIdentityTokenInvalid/.test(reason)) {
    return failed(
      'sign_in_refused',
      `The server ${at(peer)} refuses the user name or password: correct them ${peer.name === undefined ? 'with --user and --password-file' : `under ${place(peer, 'user')}`}, or allow the user at the server.`,
    )
  }
  if (/Cannot find (ANONYMOUS|USERNAME)/.test(reason)) {
    const wants = /ANONYMOUS/.test(reason)
      ? `lets nobody in without a user: ${peer.name === undefined ? 'give --user and --password-file' : `name one under ${place(peer, 'user')}`}`
      : `takes no user name: remove ${place(peer, 'user')}, or set up users at the server`
    return failed('sign_in_refused', `The server ${at(peer)} ${wants}.`)
  }
  if (/BadTooManySessions|BadMaxConnectionsReached/.test(reason)) {
    return failed(
      'source_unreachable',
      `The server ${at(peer)} has no session left: close another client's, or allow more sessions at the server.`,
    )
  }
  if (/BadSecurityPolicyRejected|BadSecurityModeRejected/.test(reason)) {
    return failed(
      'source_unreachable',
      `The server ${at(peer)} refuses the security of this connection: allow it there, and let clients ask for endpoints without any.`,
    )
  }
  if (/BadSecurityChecksFailed|BadCertificate/.test(reason)) {
    return failed(
      'certificate_untrusted',
      `The server ${at(peer)} refuses this monitor's certificate: trust it at the server${ownCertificate === undefined ? '' : ` (it is ${ownCertificate})`}, or choose another security there.`,
    )
  }
  if (/ENOTFOUND|EAI_AGAIN/.test(reason)) {
    return failed(
      'source_unreachable',
      `Nothing on this network has the name in ${at(peer)}: correct ${place(peer, 'endpoint')}, or use the address in numbers.`,
    )
  }
  if (/ECONNREFUSED|ECONNREF/.test(reason)) {
    return failed(
      'source_unreachable',
      `Nothing answers at ${at(peer)}: the machine is there, but no server listens on that port.${again(peer)}`,
    )
  }
  if (/ETIMEDOUT|EHOSTUNREACH|ENETUNREACH|timeout|timed out|no answer/i.test(reason)) {
    return failed(
      'source_unreachable',
      `Nothing answers at ${at(peer)}: check that it is switched on, and the cable and the firewall.${again(peer)}`,
    )
  }
  return failed('source_unreachable', `The connection to ${at(peer)} failed: ${reason.slice(0, 300)}.`)
}

/** Why a server's certificate is refused, and what a person can do. */
export function certificateTrouble(
  peer: Peer,
  refusal: { status: string; rejectedFile: string | undefined },
  trustedFile: string | undefined,
  folder: string,
): LastwrapError {
  const { status, rejectedFile } = refusal
  const move =
    rejectedFile === undefined || trustedFile === undefined
      ? ''
      : `move ${rejectedFile} to ${trustedFile} if you are sure that it is this server's`
  const sentences: Record<string, string> = {
    BadCertificateUntrusted: `The server ${at(peer)} shows a certificate that nobody has trusted yet. To trust it is a person's decision: ${move}. Until then nothing is read from it.`,
    BadCertificateChainIncomplete: `The server ${at(peer)} shows a certificate whose authority is unknown here. To trust it is a person's decision: put the authority's certificate into ${folder}/issuers/certs and ${folder}/trusted/certs, or ${move}.`,
    BadCertificateTimeInvalid: `The certificate of the server ${at(peer)} has expired or is not valid yet: renew it at the server, and check both clocks.`,
    BadCertificateIssuerTimeInvalid: `The authority behind the certificate of the server ${at(peer)} has expired or is not valid yet: renew it, and check both clocks.`,
    BadCertificateRevoked: `The certificate of the server ${at(peer)} was revoked by its authority: give the server a new one.`,
    BadCertificateIssuerRevoked: `The authority behind the certificate of the server ${at(peer)} was revoked: give the server a new certificate.`,
    BadCertificateRevocationUnknown: `Nobody knows whether the certificate of the server ${at(peer)} was revoked: put its authority's revocation list into ${folder}/issuers/crl.`,
    BadCertificateIssuerRevocationUnknown: `Nobody knows whether the authority of the server ${at(peer)} was revoked: put the revocation list into ${folder}/issuers/crl.`,
    BadCertificateHostNameInvalid: `The certificate of the server ${at(peer)} was made for another host name: correct ${place(peer, 'endpoint')}, or trust this very certificate (${move || `put it into ${folder}/trusted/certs`}).`,
  }
  return new LastwrapError(
    'certificate_untrusted',
    sentences[status] ??
      `The certificate of the server ${at(peer)} is refused (${status}): give the server a sound one.`,
  )
}

/** Why a tag gives nothing, from the status of its monitored item. */
export function itemTrouble(source: string, address: string, statusName: string): string {
  switch (statusName) {
    case 'BadNodeIdUnknown':
    case 'BadNoMatch':
      return `${source} has no variable ${address}: check its spelling, or look for it with "lastwrap browse".`
    case 'BadNodeIdInvalid':
      return `"${address}" is no node id: one looks like ns=2;s=Press.LineSpeed or ns=3;i=1017; "lastwrap browse" lists them.`
    case 'BadAttributeIdInvalid':
      return `${address} at ${source} is no variable: it has no value; "lastwrap browse" lists the variables.`
    case 'BadUserAccessDenied':
    case 'BadNotReadable':
      return `${source} does not let this user read ${address}: allow it at the server.`
    case 'BadTooManyMonitoredItems':
    case 'BadMonitoredItemsLimitReached':
      return `${source} watches no more variables than it does already, so ${address} is left out: allow more at the server, or map fewer.`
    default:
      return `${source} does not deliver ${address} (${statusName}): look at the server. It is tried again.`
  }
}

/** Why a tag has no value at the moment, from the status of a value. */
export const valueTrouble = (source: string, address: string, statusName: string): string =>
  `${source} says that ${address} has no valid value (${statusName}): look at the sensor or the program behind it.`
