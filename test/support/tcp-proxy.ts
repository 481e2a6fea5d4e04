/** A cable between a client and a server on this machine that can be cut and plugged in again. */
import { once } from 'node:events'
import { type AddressInfo, connect, createServer, type Socket } from 'node:net'

export interface TcpProxy {
  port: number
  /** Breaks every connection and refuses new ones. */
  cut(): void
  /** Lets connections through again. */
  plugIn(): void
  close(): Promise<void>
}

export async function startTcpProxy(targetPort: number): Promise<TcpProxy> {
  const sockets = new Set<Socket>()
  let isCut = false
  const server = createServer((near) => {
    if (isCut) {
      near.destroy()
      return
    }
    const far = connect(targetPort, '127.0.0.1')
    for (const [from, to] of [
      [near, far],
      [far, near],
    ] as const) {
      sockets.add(from)
      from.pipe(to)
      // Either end may break at any time; that is what this proxy is for.
      from.on('error', () => to.destroy())
      from.on('close', () => {
        sockets.delete(from)
        to.destroy()
      })
    }
  })
  server.listen(0, '127.0.0.1')
  await once(server, 'listening')
  const breakAll = (): void => {
    for (const socket of sockets) socket.destroy()
  }
  return {
    port: (server.address() as AddressInfo).port,
    cut() {
      isCut = true
      breakAll()
    },
    plugIn() {
      isCut = false
    },
    async close() {
      breakAll()
      server.close()
      await once(server, 'close')
    },
  }
}
