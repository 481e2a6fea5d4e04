import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { atPath, parsePath, pathsIn } from '../../edge/sources/json-path.ts'
import { Payload } from '../../edge/sources/mqtt-payload.ts'
import { fromVariant } from '../../edge/sources/opcua-value.ts'
import { fromText, fromUnknown, timeFrom } from '../../edge/sources/raw-value.ts'

describe('value paths', () => {
  test('dotted names with [n]', () => {
    expect(parsePath('a.b[0].c')).toEqual(['a', 'b', 0, 'c'])
    expect(parsePath('[2]')).toEqual([2])
    expect(parsePath('m[1][2]')).toEqual(['m', 1, 2])
    for (const wrong of ['', '.', 'a.', '.a', 'a..b', 'a[x]', 'a[', 'a]', 'a[0]b'])
      expect(parsePath(wrong)).toBeUndefined()
  })

  test('only own members count', () => {
    expect(atPath({ a: { b: [{ c: 7 }] } }, ['a', 'b', 0, 'c'])).toBe(7)
    expect(atPath({}, ['constructor'])).toBeUndefined()
    expect(atPath([1], ['length', 'x'])).toBeUndefined()
    expect(atPath(null, ['a'])).toBeUndefined()
  })

  test('property: every path that is listed leads back to its value', () => {
    fc.assert(
      fc.property(fc.dictionary(fc.stringMatching(/^[a-z]{1,5}$/), fc.jsonValue({ maxDepth: 0 })), (object) => {
        for (const { path, value } of pathsIn({ deep: [object] })) {
          expect(atPath({ deep: [object] }, parsePath(path) ?? [])).toEqual(value)
        }
      }),
    )
  })
})

describe('values', () => {
  test('numeric text is a number, an identity with leading zeros is not', () => {
    expect(fromText(' 12.5 ')).toEqual({ value: 12.5 })
    expect(fromText('-1e3')).toEqual({ value: -1000 })
    expect(fromText('0012')).toEqual({ value: '0012' })
    expect(fromText('12345678901234567890')).toEqual({ value: '12345678901234567890' })
    expect(fromText('TRUE')).toEqual({ value: true })
    expect(fromText('R-0012')).toEqual({ value: 'R-0012' })
    for (const wrong of ['', '  ', 'NaN', '-Infinity', '1e999']) expect(fromText(wrong)).toHaveProperty('trouble')
  })

  test('what is no plain value is said, never thrown', () => {
    for (const wrong of [null, undefined, Number.NaN, Number.POSITIVE_INFINITY, [1], {}, new Float64Array(2)]) {
      expect(fromUnknown(wrong)).toHaveProperty('trouble')
    }
  })

  test('property: a number written as text comes back', () => {
    fc.assert(
      fc.property(fc.double({ noNaN: true, noDefaultInfinity: true, min: -1e12, max: 1e12 }), (number) => {
        const text = number.toFixed(2)
        if (/\d{14}/.test(text)) return
        expect(fromText(text)).toEqual({ value: Number(text) })
      }),
    )
  })

  test('times: ISO 8601 with a zone or integer milliseconds', () => {
    const tMs = Date.UTC(2026, 2, 2, 6, 0, 0, 100)
    for (const text of [
      '2026-03-02T06:00:00.100Z',
      '2026-03-02T07:00:00.100+01:00',
      '2026-03-02T07:00:00.100456+0100',
      '2026-03-02T07:00:00,100+01',
    ]) {
      expect(timeFrom(text)).toBe(tMs)
    }
    expect(timeFrom(tMs)).toBe(tMs)
    expect(timeFrom(String(tMs))).toBe(tMs)
    for (const wrong of ['2026-03-02T06:00:00', '2026-03-02', 'yesterday', 1.5, null, undefined, {}]) {
      expect(timeFrom(wrong)).toBeUndefined()
    }
  })

  test('OPC UA: 64-bit halves, texts and arrays', () => {
    const variant = (dataType: number, value: unknown, arrayType = 0) => ({ dataType, value, arrayType }) as never
    // Two's complement: −2 is 0xFFFFFFFF_FFFFFFFE.
    expect(fromVariant(variant(8, [0xffffffff, 0xfffffffe]), undefined)).toEqual({ value: -2 })
    expect(fromVariant(variant(9, [1, 5]), undefined)).toEqual({ value: 2 ** 32 + 5 })
    expect(fromVariant(variant(21, { text: 'board' }), undefined)).toEqual({ value: 'board' })
    // A 32-bit float as the server's panel shows it: no digits that the PLC never had.
    expect(fromVariant(variant(10, Math.fround(128.9)), undefined)).toEqual({ value: 128.9 })
    expect(fromVariant(variant(10, Math.fround(16777217)), undefined)).toEqual({ value: 16777216 })
    expect(Math.fround((fromVariant(variant(10, Math.fround(1 / 3)), undefined) as { value: number }).value)).toBe(
      Math.fround(1 / 3),
    )
    expect(fromVariant(variant(11, new Float64Array([1, 2, 3]), 1), [1])).toEqual({ value: 2 })
    expect(fromVariant(variant(8, [[0, 4]], 1), [0])).toEqual({ value: 4 })
    expect(fromVariant(variant(11, new Float64Array(3), 1), undefined)).toHaveProperty('trouble')
    expect(fromVariant(variant(11, new Float64Array(3), 1), [3])).toHaveProperty('trouble')
    expect(fromVariant(variant(15, Buffer.from('x')), undefined)).toHaveProperty('trouble')
    expect(fromVariant(null, undefined)).toHaveProperty('trouble')
  })
})

describe('MQTT payloads', () => {
  const at = (text: string, valuePath?: string, timePath?: string, most = 1000) =>
    new Payload(Buffer.from(text), most).valueAt({
      valuePath: valuePath === undefined ? undefined : parsePath(valuePath),
      timePath: timePath === undefined ? undefined : parsePath(timePath),
    })

  test('plain and JSON', () => {
    expect(at('24.5')).toEqual({ value: 24.5, stampMs: undefined })
    expect(at('"roll 7"')).toEqual({ value: 'roll 7', stampMs: undefined })
    expect(at('{"d":[{"mm":812.5}],"ts":1772431200100}', 'd[0].mm', 'ts')).toEqual({
      value: 812.5,
      stampMs: 1772431200100,
    })
  })

  test.each([
    ['{"d":', 'd', undefined],
    ['{"d":1}', 'e', undefined],
    ['{"d":null}', 'd', undefined],
    ['{"d":{}}', 'd', undefined],
    ['{"d":1}', 'd', 'ts'],
    ['{"d":1,"ts":"2026-03-02T06:00:00"}', 'd', 'ts'],
    ['{"d":1}', undefined, undefined],
    ['NaN', undefined, undefined],
    ['', undefined, undefined],
    ['x'.repeat(1001), undefined, undefined],
  ])('%s at %s is said, not thrown', (text, valuePath, timePath) => {
    expect(at(text, valuePath, timePath)).toHaveProperty('trouble')
  })

  test('property: no bytes whatever make it throw', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 60 }), (bytes) => {
        new Payload(Buffer.from(bytes), 50).valueAt({ valuePath: ['a', 0], timePath: ['t'] })
        new Payload(Buffer.from(bytes), 50).valueAt({ valuePath: undefined, timePath: undefined })
      }),
    )
  })
})
