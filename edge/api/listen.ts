/** Opens a built API to its port. */
import { Server as TlsServer } from 'node:tls'
import { LastwrapError, reasonOf } from '../errors.ts'
import type { ApiApp } from './app.ts'

/** Resolves to the address to open in a browser. Throws `wrong_input` where the port or address cannot be had. */
export const listen = async (
  app: ApiApp,
  web: { readonly host: string; readonly port: number; readonly basePath?: string },
): Promise<string> => {
  try {
    await app.listen({ host: web.host, port: web.port })
  } catch (thrown) {
    const { code } = thrown as { code?: string }
    const where = `${web.host}:${web.port}`
    const sentences: Readonly<Record<string, string>> = {
      EADDRINUSE: `Another program listens on ${where} already: stop it, or set another port in web.listen or with --port.`,
      EACCES: `The system does not let this user listen on ${where}: set a port above 1023 in web.listen.`,
      EADDRNOTAVAIL: `This machine has no address ${web.host}: set one that it has in web.listen.`,
      ENOTFOUND: `The name ${web.host} is unknown here: set an IP address in web.listen.`,
    }
    const sentence = sentences[code ?? '']
    throw new LastwrapError('wrong_input', sentence ?? `The API cannot listen on ${where}: ${reasonOf(thrown)}`, {
      cause: thrown,
    })
  }
  const address = app.server.address()
  const port = typeof address === 'object' && address !== null ? address.port : web.port
  // What listens everywhere is opened at home.
  const host = web.host === '0.0.0.0' || web.host === '::' ? '127.0.0.1' : web.host
  const scheme = app.server instanceof TlsServer ? 'https' : 'http'
  return `${scheme}://${host.includes(':') ? `[${host}]` : host}:${port}${web.basePath ?? ''}`
}
