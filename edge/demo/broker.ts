/** The hall's MQTT broker (3.1.1): the user `monitor` may listen, only the coater's gateway may publish. */
import { createServer, type Server } from 'node:net'
import { Aedes, type AuthenticateError } from 'aedes'

export interface BrokerUser {
  name: string
  password: string
  mayPublish: boolean
}

const BAD_USER = 4

export class Broker {
  private readonly users: readonly BrokerUser[]
  private aedes: Aedes | undefined
  private server: Server | undefined

  constructor(users: readonly BrokerUser[]) {
    this.users = users
  }

  /** Listens; returns the port. */
  async start(host: string, port: number): Promise<number> {
    const aedes = await Aedes.createBroker({
      id: 'alder-quay-hall',
      authenticate: (client, name, password, done) => {
        const user = this.users.find((known) => known.name === name && known.password === password?.toString())
        if (user) {
          Object.assign(client, { mayPublish: user.mayPublish })
          done(null, true)
        } else {
          const refusal = new Error('unknown user or wrong password') as AuthenticateError
          done(Object.assign(refusal, { returnCode: BAD_USER }), false)
        }
      },
      authorizePublish: (client, _packet, done) => {
        const isAllowed = client !== null && 'mayPublish' in client && client.mayPublish === true
        done(isAllowed ? null : new Error('this user may only listen'))
      },
    })
    this.aedes = aedes
    const server = createServer(aedes.handle)
    this.server = server
    return new Promise((resolve, reject) => {
      server.once('error', reject)
      server.listen(port, host, () => {
        server.off('error', reject)
        const address = server.address()
        resolve(typeof address === 'object' && address ? address.port : port)
      })
    })
  }

  async stop(): Promise<void> {
    await new Promise<void>((resolve) => (this.aedes ? this.aedes.close(resolve) : resolve()))
    await new Promise<void>((resolve) => (this.server ? this.server.close(() => resolve()) : resolve()))
  }
}
