import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { lineOf } from '../../edge/outputs/line-protocol.ts'
import type { Point } from '../../edge/outputs/output.ts'

const T = 1_772_431_200_000
const point = (changes: Partial<Point> = {}): Point => ({
  measurement: 'signal',
  tags: { site: 'Alder Quay Works', unwind: 'label_press' },
  fields: { line_speed: 300 },
  tMs: T,
  ...changes,
})

/**
 * A reader of line protocol of the test's own, character by character, after the InfluxDB v2 line protocol reference:
 * in names and tag values a backslash escapes comma, equals sign and space; in a quoted field, quote and backslash.
 */
function parseLine(line: string) {
  let at = 0
  const name = (ends: string): string => {
    let text = ''
    while (at < line.length && !ends.includes(line[at]!)) {
      if (line[at] === '\\' && ',= '.includes(line[at + 1] ?? '\0')) at += 1
      text += line[at]
      at += 1
    }
    return text
  }
  const quoted = (): string => {
    let text = ''
    for (at += 1; line[at] !== '"'; at += 1) {
      if (at >= line.length) throw new Error('a string without end')
      if (line[at] === '\\' && '"\\'.includes(line[at + 1] ?? '\0')) at += 1
      text += line[at]
    }
    at += 1
    return text
  }
  const bare = (text: string): number | boolean => {
    if (text === 'true' || text === 'false') return text === 'true'
    if (!/^-?\d+(\.\d+)?(e[+-]?\d+)?$/.test(text)) throw new Error(`no float: ${text}`)
    return Number(text)
  }
  const expectNext = (character: string): void => {
    if (line[at] !== character) throw new Error(`expected "${character}" at ${at} of ${line}`)
    at += 1
  }
  const measurement = name(', ')
  const tags: [string, string][] = []
  while (line[at] === ',') {
    at += 1
    const key = name('=')
    expectNext('=')
    tags.push([key, name(', ')])
  }
  expectNext(' ')
  const fields: [string, number | boolean | string][] = []
  do {
    if (fields.length > 0) at += 1
    const key = name('=')
    expectNext('=')
    fields.push([key, line[at] === '"' ? quoted() : bare(name(', '))])
  } while (line[at] === ',')
  expectNext(' ')
  const time = line.slice(at)
  if (!/^-?\d+$/.test(time)) throw new Error(`no time: ${time}`)
  return { measurement, tags, fields, time: Number(time) }
}

describe('a line', () => {
  it('is written as the reference shows it', () => {
    const line = lineOf(point({ fields: { 'extra.a b': 1.5, state: 'say "on\\off"', closed: true, n: 3 } }))
    expect(line).toBe(
      'signal,site=Alder\\ Quay\\ Works,unwind=label_press ' +
        'extra.a\\ b=1.5,state="say \\"on\\\\off\\"",closed=true,n=3 1772431200000000',
    )
  })

  it('leaves out what can not be written, and is none where nothing is left', () => {
    expect(lineOf(point({ fields: { a: Number.NaN, b: 1, c: Number.POSITIVE_INFINITY } }))).toMatch(/ b=1 /)
    expect(lineOf(point({ fields: { a: Number.NaN } }))).toBeUndefined()
    expect(lineOf(point({ fields: {} }))).toBeUndefined()
    expect(lineOf(point({ tMs: Number.NaN }))).toBeUndefined()
    expect(lineOf(point({ tags: { site: '', unwind: undefined } }))).toBe('signal line_speed=300 1772431200000000')
  })

  it('ends no tag in a backslash and starts no name with an underscore', () => {
    const line = lineOf(point({ tags: { site: 'C:\\works\\' }, fields: { __x: 1, '': 2 } }))
    expect(line).toBe('signal,site=C:/works/ x=1,unnamed=2 1772431200000000')
  })

  it('keeps a string below 64 KB', () => {
    const line = lineOf(point({ fields: { text: '€'.repeat(100_000) } }))
    expect(Buffer.byteLength(line!)).toBeLessThan(64 * 1024)
  })
})

const nasty = fc.string({
  unit: fc.constantFrom('a', 'Z', '0', ' ', ',', '=', '\\', '"', '\n', '\r', '_', '#', 'é', '🧻'),
})
const text = fc.oneof(nasty, fc.string({ unit: 'binary' }))
const value = fc.oneof(text, fc.double(), fc.integer(), fc.boolean())

it('is read back by another reader as what was written, whatever the texts', () => {
  const cleaned = (given: string): string => given.replaceAll(/[\n\r\u2028\u2029\0]+/g, ' ').toWellFormed()
  const tagged = (given: string): string => cleaned(given).replaceAll('\\', '/')
  fc.assert(
    fc.property(text, text, fc.dictionary(text, value), fc.integer({ min: 0, max: T }), (site, unwind, fields, tMs) => {
      const line = lineOf(point({ tags: { site, unwind }, fields, tMs }))
      const known = Object.entries(fields).filter(([, one]) => typeof one !== 'number' || Number.isFinite(one))
      if (line === undefined) {
        expect(known).toEqual([])
        return
      }
      expect(line).not.toMatch(/[\n\r]/)
      const read = parseLine(line)
      expect(read.measurement).toBe('signal')
      expect(read.time).toBe(tMs * 1000)
      const tags = [
        ['site', tagged(site)],
        ['unwind', tagged(unwind)],
      ]
      expect(read.tags).toEqual(tags.filter(([, one]) => one !== ''))
      expect(read.fields.map(([, one]) => one)).toEqual(
        known.map(([, one]) => (typeof one === 'string' ? cleaned(one) : typeof one === 'number' ? one + 0 : one)),
      )
      expect(read.fields.map(([key]) => key)).toEqual(known.map(([key]) => tagged(key).replace(/^_+/, '') || 'unnamed'))
    }),
    { numRuns: 1000 },
  )
})
