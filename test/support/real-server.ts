/** A real database as a process of the test's own: started, killed and started again on the same port and folder. */
import { type ChildProcess, spawn } from 'node:child_process'
import { once } from 'node:events'
import { mkdtempSync, rmSync } from 'node:fs'
import { createServer } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { setTimeout as delay } from 'node:timers/promises'
import { type ServerName, serverBinary } from './server-binaries.ts'

const READY_MS = 20_000

export interface RealServer {
  readonly url: string
  readonly folder: string
  start(): Promise<void>
  /** Ends the process and waits until it is gone. */
  kill(signal: 'SIGKILL' | 'SIGTERM'): Promise<void>
  /** Kills it and removes its folder. */
  remove(): Promise<void>
}

export interface RealServerPlan {
  name: ServerName
  args(folder: string, port: number): readonly string[]
  env?: Readonly<Record<string, string>>
  /** Path that answers with 2xx once the server serves. */
  readyPath: string
}

export async function realServer(plan: RealServerPlan): Promise<RealServer> {
  const binary = serverBinary(plan.name)
  if (binary === undefined) throw new Error(`${plan.name} isn't there: a suite that needs it leaves itself out`)
  const folder = mkdtempSync(join(tmpdir(), `lastwrap-${plan.name}-`))
  const port = await freePort()
  const url = `http://127.0.0.1:${port}`
  let child: ChildProcess | undefined
  let said = ''

  const kill = async (signal: 'SIGKILL' | 'SIGTERM'): Promise<void> => {
    if (child === undefined || child.exitCode !== null || child.signalCode !== null) return
    const gone = once(child, 'exit')
    child.kill(signal)
    await gone
  }
  const isReady = async (): Promise<boolean> => {
    const answer = await fetch(url + plan.readyPath).catch(() => undefined)
    return answer?.ok === true
  }
  const start = async (): Promise<void> => {
    const env = { ...binary.env, HOME: folder, ...plan.env }
    child = spawn(binary.path, plan.args(folder, port), { env, cwd: folder, stdio: ['ignore', 'pipe', 'pipe'] })
    const hear = (piece: Buffer): void => {
      said = (said + piece.toString('utf8')).slice(-4000)
    }
    child.stdout?.on('data', hear)
    child.stderr?.on('data', hear)
    const deadline = performance.now() + READY_MS
    while (!(await isReady())) {
      if (performance.now() > deadline || child.exitCode !== null) throw new Error(`${plan.name} didn't start: ${said}`)
      await delay(50)
    }
  }
  const remove = async (): Promise<void> => {
    await kill('SIGKILL')
    rmSync(folder, { recursive: true, force: true })
  }
  return { url, folder, start, kill, remove }
}

/** A port that nobody listens on just now. */
async function freePort(): Promise<number> {
  const probe = createServer().listen(0, '127.0.0.1')
  await once(probe, 'listening')
  const address = probe.address()
  probe.close()
  await once(probe, 'close')
  if (address === null || typeof address === 'string') throw new Error('no port to be had')
  return address.port
}
