/**
 * Points of signals, packed small and without loss: what the store keeps of a minute of samples or of a second of a trace.
 *
 * Layout, deflated: header length (u32, little endian), header (JSON: first time and, per series, unwind, signal and
 * count), then per point the time less the first (f64, ms), then per point the value (f64; NaN is "no value").
 */
import { deflateRawSync, inflateRawSync } from 'node:zlib'
import type { SignalPoint } from './store.ts'

interface Header {
  t: number
  s: [unwind: string, signal: string, count: number][]
}

export function packPoints(points: readonly SignalPoint[]): Uint8Array {
  const series = new Map<string, SignalPoint[]>()
  for (const point of points) {
    const key = JSON.stringify([point.unwind, point.signal])
    const known = series.get(key)
    if (known === undefined) series.set(key, [point])
    else known.push(point)
  }
  const ordered = [...series.values()]
  const header: Header = {
    t: points[0]?.tMs ?? 0,
    s: ordered.map((one) => [one[0]!.unwind, one[0]!.signal, one.length]),
  }
  const head = Buffer.from(JSON.stringify(header), 'utf8')
  const bytes = Buffer.alloc(4 + head.length + 16 * points.length)
  bytes.writeUInt32LE(head.length, 0)
  head.copy(bytes, 4)
  let at = 4 + head.length
  for (const one of ordered) for (const point of one) at = bytes.writeDoubleLE(point.tMs - header.t, at)
  for (const one of ordered) for (const point of one) at = bytes.writeDoubleLE(point.value ?? Number.NaN, at)
  return deflateRawSync(bytes)
}

/** @returns the points series by series, each in the order in which it was packed. */
export function unpackPoints(packed: Uint8Array): SignalPoint[] {
  const bytes = inflateRawSync(packed)
  const headLength = bytes.readUInt32LE(0)
  const header = JSON.parse(bytes.toString('utf8', 4, 4 + headLength)) as Header
  const count = header.s.reduce((sum, one) => sum + one[2], 0)
  const points: SignalPoint[] = []
  let timeAt = 4 + headLength
  let valueAt = timeAt + 8 * count
  for (const [unwind, signal, n] of header.s) {
    for (let i = 0; i < n; i += 1) {
      const value = bytes.readDoubleLE(valueAt)
      points.push({
        unwind,
        signal,
        tMs: header.t + bytes.readDoubleLE(timeAt),
        value: Number.isNaN(value) ? null : value,
      })
      timeAt += 8
      valueAt += 8
    }
  }
  return points
}
