/** Somebody else's server that shows the monitor below a path, as a reverse proxy does; everything else there is not ours. */
import { once } from 'node:events'
import { createServer, request } from 'node:http'
import type { AddressInfo } from 'node:net'

export interface PathProxy {
  /** Where the monitor is shown, with a slash at the end. */
  url: string
  /** What was asked for outside of the path. */
  strays: string[]
  close(): Promise<void>
}

export const startPathProxy = async (target: string, path: string): Promise<PathProxy> => {
  const strays: string[] = []
  const { hostname, port } = new URL(target)
  const server = createServer((near, answer) => {
    const { url = '/', method, headers } = near
    if (!url.startsWith(`${path}/`)) {
      strays.push(url)
      answer.writeHead(404).end()
      return
    }
    const forwarded = { ...headers, 'x-forwarded-for': '10.9.9.9' }
    const far = request({ hostname, port, method, path: url, headers: forwarded }, (reply) => {
      answer.writeHead(reply.statusCode ?? 502, reply.headers)
      reply.pipe(answer)
    })
    far.on('error', () => answer.destroy())
    answer.on('close', () => far.destroy())
    near.pipe(far)
  })
  server.listen(0, '127.0.0.1')
  await once(server, 'listening')
  return {
    url: `http://127.0.0.1:${(server.address() as AddressInfo).port}${path}/`,
    strays,
    close: async () => {
      server.closeAllConnections()
      server.close()
      await once(server, 'close')
    },
  }
}
