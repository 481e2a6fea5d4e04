/** A real mosquitto in a temporary folder: password, TLS, a session store that survives a kill. */
import { type ChildProcess, spawn } from 'node:child_process'
import { pbkdf2Sync, randomBytes } from 'node:crypto'
import { once } from 'node:events'
import { chmod, mkdir, writeFile } from 'node:fs/promises'
import { join } from 'node:path'
import { createInterface } from 'node:readline'
import { freePort } from './free-port.ts'
import { serverBinary } from './server-binaries.ts'

export interface MosquittoOptions {
  folder: string
  /** Without one, anybody may sign in. */
  user?: { name: string; password: string }
  /** PEM files. */
  tls?: { certificateFile: string; privateKeyFile: string }
}

export interface Mosquitto {
  port: number
  url: string
  process: () => ChildProcess
  kill(signal: NodeJS.Signals): Promise<void>
  /** Starts it again on the same port with what it stored. */
  start(): Promise<void>
  stop(): Promise<void>
}

export async function startMosquitto(options: MosquittoOptions): Promise<Mosquitto> {
  const { folder, user, tls } = options
  const binary = serverBinary('mosquitto')
  if (binary === undefined) throw new Error('mosquitto is not there: the suite should have been left out.')
  await mkdir(folder, { recursive: true })
  const port = await freePort()
  const lines = [
    `listener ${port} 127.0.0.1`,
    // As root it would change to a user of its own, who may not write here.
    'user root',
    'persistence true',
    `persistence_location ${folder}/`,
    // Saved after every change, so that a kill loses nothing that was acknowledged.
    'autosave_interval 1',
    'autosave_on_changes true',
    'max_queued_messages 10000',
    'log_dest stderr',
  ]
  if (user === undefined) {
    lines.push('allow_anonymous true')
  } else {
    const passwords = join(folder, 'passwords')
    await writeFile(passwords, `${user.name}:${hashOf(user.password)}\n`)
    await chmod(passwords, 0o600)
    lines.push('allow_anonymous false', `password_file ${passwords}`)
  }
  if (tls !== undefined) lines.push(`certfile ${tls.certificateFile}`, `keyfile ${tls.privateKeyFile}`)
  const config = join(folder, 'mosquitto.conf')
  await writeFile(config, `${lines.join('\n')}\n`)
  let child: ChildProcess
  const start = async (): Promise<void> => {
    child = spawn(binary.path, ['-c', config], { env: binary.env, stdio: ['ignore', 'ignore', 'pipe'] })
    const started = Promise.withResolvers<void>()
    const said: string[] = []
    createInterface({ input: child.stderr as NodeJS.ReadableStream }).on('line', (line) => {
      said.push(line)
      if (/mosquitto version .* running/.test(line)) started.resolve()
    })
    child.once('exit', () => started.reject(new Error(`mosquitto ended: ${said.slice(-3).join(' | ')}`)))
    await started.promise
  }
  const kill = async (signal: NodeJS.Signals): Promise<void> => {
    if (child.exitCode !== null || child.signalCode !== null) return
    child.kill(signal)
    await once(child, 'exit')
  }
  await start()
  return {
    port,
    url: `${tls === undefined ? 'mqtt' : 'mqtts'}://127.0.0.1:${port}`,
    process: () => child,
    kill,
    start,
    async stop() {
      child.kill('SIGCONT')
      await kill('SIGKILL')
    },
  }
}

/** mosquitto 2's password format: PBKDF2 with SHA-512 (mosquitto_passwd's man page). */
function hashOf(password: string): string {
  const salt = randomBytes(12)
  const hash = pbkdf2Sync(password, salt, 101, 64, 'sha512')
  return `$7$101$${salt.toString('base64')}$${hash.toString('base64')}`
}
