/** The section `web`: an address that makes sense, files beside the config, and no door that opens by accident. */
import { BlockList, isIP } from 'node:net'
import type { WebConfig } from './config.ts'
import type { Loose, Reading } from './reading.ts'
import { besideConfig, isLoopback } from './resolve-source.ts'
import type { ConfigFile } from './schema.ts'
import { shown } from './validate.ts'

type Raw = Loose<ConfigFile>['web']

const SELF_MADE = 'self_made'

function resolveListen(reading: Reading, listen: string | undefined): { host: string; port: number } {
  const [, bracketed, plain, portText] = /^(?:\[([0-9a-fA-F:.]+)\]|([^:[\]\s]+)):(\d{1,5})$/.exec(listen ?? '') ?? []
  const host = bracketed ?? plain
  const port = Number(portText)
  if (host !== undefined && port <= 65_535) return { host, port }
  if (listen !== undefined) {
    reading.fault(['web', 'listen'], `${shown(listen)} is no address with a port: write for example "127.0.0.1:8420"`)
  }
  return { host: '127.0.0.1', port: 8420 }
}

function resolveTls(reading: Reading, directory: string, raw: NonNullable<Raw>['tls']): WebConfig['tls'] {
  if (raw === undefined) return undefined
  const { certificate = SELF_MADE, key } = raw
  if (certificate === SELF_MADE) {
    if (key !== undefined) {
      reading.fault(['web', 'tls', 'key'], 'belongs to no certificate: name its file in certificate, or delete the key')
    }
    return 'self_made'
  }
  if (key === undefined) {
    reading.missing(['web', 'tls', 'key'], 'name the PEM file that holds the key of the certificate')
    return undefined
  }
  return { certificateFile: besideConfig(directory, certificate), keyFile: besideConfig(directory, key) }
}

/** A browser that must not go past a certificate which it does not trust would show a wall nothing at all. */
function resolveHsts(reading: Reading, raw: NonNullable<Raw>['tls']): number | undefined {
  if (raw?.hsts === undefined) return undefined
  const path = ['web', 'tls', 'hsts']
  if ((raw.certificate ?? SELF_MADE) === SELF_MADE) {
    reading.fault(path, 'is for a certificate that browsers trust: name its file in certificate, or delete the key')
    return undefined
  }
  return reading.quantity(path, raw.hsts, 'duration', { min: 60, max: 2 * 31_536_000, words: '1 min and 2 y' })
}

function isAddressOrRange(text: string): boolean {
  const [address = '', bits, ...rest] = text.split('/')
  const family = isIP(address)
  if (family === 0 || rest.length > 0) return false
  if (bits === undefined) return true
  try {
    new BlockList().addSubnet(address, Number(bits), family === 4 ? 'ipv4' : 'ipv6')
    return /^\d{1,3}$/.test(bits)
  } catch (error) {
    if (error instanceof RangeError) return false
    throw error
  }
}

export function resolveWeb(reading: Reading, directory: string, raw: Raw): WebConfig {
  const { host, port } = resolveListen(reading, raw?.listen)
  const isOpen = !isLoopback(host)
  const allowedHosts = (raw?.allowed_hosts ?? []).filter((name) => name !== undefined)
  const trustedProxies = (raw?.trusted_proxies ?? []).filter((address) => address !== undefined)
  for (const [at, address] of trustedProxies.entries()) {
    if (isAddressOrRange(address)) continue
    reading.fault(
      ['web', 'trusted_proxies', at],
      `${shown(address)} is no IP address or range: write for example "127.0.0.1" or "10.1.2.0/24"`,
    )
  }
  const withoutSignIn = raw?.without_sign_in ?? (isOpen ? 'nothing' : 'look')
  // A proxy on this machine makes everybody look like somebody at this machine.
  if (withoutSignIn === 'operate' && (isOpen || allowedHosts.length > 0 || trustedProxies.length > 0)) {
    reading.fault(
      ['web', 'without_sign_in'],
      'operate would let anybody in the network acknowledge and mark rolls ready: write look, or listen on this machine only and without a proxy',
    )
  }
  return {
    host,
    port,
    withoutSignIn,
    idleLockS: reading.quantity(['web', 'idle_lock'], raw?.idle_lock, 'duration', {
      min: 60,
      max: 12 * 3600,
      words: '1 min and 12 h',
    }),
    tls: resolveTls(reading, directory, raw?.tls),
    hstsS: resolveHsts(reading, raw?.tls),
    basePath: raw?.base_path ?? '',
    allowedHosts,
    trustedProxies,
  }
}
