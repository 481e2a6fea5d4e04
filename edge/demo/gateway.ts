/**
 * The film coater's gateway: publishes what the coater's controller knows as JSON, several values to a topic. Numbers on a
 * period, the splicer's bits on change and every 2 s; `offline` by its last will.
 */
import { connectAsync, type MqttClient } from 'mqtt'
import type { Line } from './line.ts'
import { Random } from './random.ts'
import { quantised } from './sensors.ts'

export interface GatewayOptions {
  url: string
  user: string
  password: string
}

const ROOT = 'alderquay/coater'
const PERIOD_S = 0.1
const BITS_S = 2
const OVEN_S = 2
const MODES = { stopped: 'stop', thread: 'thread', run: 'run' }

export class Gateway {
  private readonly line: Line
  private readonly random: Random
  private client: MqttClient | undefined
  private nextS = 0
  private nextBitsS = 0
  private nextOvenS = 0
  private lastBits = ''

  constructor(line: Line, seed: number) {
    this.line = line
    this.random = new Random(seed)
  }

  async start({ url, user, password }: GatewayOptions): Promise<void> {
    this.client = await connectAsync(url, {
      protocolVersion: 4,
      clientId: 'coater-gateway',
      username: user,
      password,
      will: { topic: `${ROOT}/status`, payload: Buffer.from('offline'), qos: 1, retain: true },
    })
    this.client.publish(`${ROOT}/status`, 'online', { qos: 1, retain: true })
  }

  publish(time: Date): void {
    const { line } = this
    if (!this.client?.connected) return
    if (line.tS >= this.nextS - 1e-6) {
      // Keeps to its own grid where a timer came late, unless it came so late that the grid is behind.
      this.nextS = Math.max(this.nextS + PERIOD_S, line.tS)
      this.send('line', { ts: time.getTime(), ...this.lineValues() })
      this.send('unwind', { ts: time.toISOString(), ...this.unwindValues() })
    }
    const bits = this.splicerBits()
    const text = JSON.stringify(bits)
    if (text !== this.lastBits || line.tS >= this.nextBitsS) {
      this.lastBits = text
      this.nextBitsS = line.tS + BITS_S
      this.send('splicer', { ts: time.toISOString(), ...bits }, true)
    }
    if (line.tS >= this.nextOvenS) {
      this.nextOvenS = line.tS + OVEN_S
      const zones = [112, 118, 121].map((zone) => quantised(zone + this.random.normal(0.3), 0.1))
      this.send('oven', { ts: time.toISOString(), zones })
    }
  }

  async stop(): Promise<void> {
    if (!this.client) return
    this.client.publish(`${ROOT}/status`, 'offline', { qos: 1, retain: true })
    await this.client.endAsync()
  }

  private lineValues() {
    const { drive, shift, lineLengthM, hasWebBreak } = this.line
    const speed = drive.speedMps === 0 ? 0 : Math.max(0, drive.speedMps * 60 + this.random.normal(0.2))
    return {
      speed: rounded(speed, 1),
      setpoint: rounded(drive.setpointMps * 60, 1),
      length: rounded(lineLengthM, 1),
      mode: MODES[shift.mode],
      web_break: hasWebBreak,
    }
  }

  private unwindValues() {
    const { readings, active, unwindSpeedMps, running, tensionN } = this.line
    return {
      diameter: rounded(readings.running * 1000, 1),
      position: active,
      rpm: rounded((60 * unwindSpeedMps) / (Math.PI * running.diameterM), 1),
      tension: Math.max(0, Math.round(tensionN + (tensionN && this.random.normal(1.2)))),
      roll: { id: running.makeup.id, material: running.makeup.material },
    }
  }

  private splicerBits() {
    const { newRollReady, isAuto, splicer, spliceCount } = this.line
    return { ready: newRollReady, auto: isAuto, pasting: splicer.isActive, fault: splicer.hasFault, count: spliceCount }
  }

  private send(topic: string, payload: object, retain = false): void {
    this.client?.publish(`${ROOT}/${topic}`, JSON.stringify(payload), { qos: 0, retain })
  }
}

const rounded = (value: number, digits: number): number => Number(value.toFixed(digits))
