import fc from 'fast-check'
import { expect, test } from 'vitest'
import { asPlainData, copyOf } from '../edge/plain-data.ts'

const plain = fc.object({ values: [fc.double(), fc.string(), fc.boolean(), fc.constant(null), fc.constant(undefined)] })

test('GIVEN any plain data WHEN it is copied THEN it is what the platform’s own copy is', () => {
  fc.assert(
    fc.property(plain, (data) => {
      expect(copyOf(data)).toStrictEqual(structuredClone(data))
    }),
  )
  const named = JSON.parse('{"__proto__":{"value":1},"constructor":2}') as unknown
  expect(copyOf(named)).toStrictEqual(structuredClone(named))
})

test('GIVEN any plain data WHEN it is to be as text keeps it THEN it is what comes back from text', () => {
  fc.assert(
    fc.property(plain, (data) => {
      expect(asPlainData(data)).toEqual(JSON.parse(JSON.stringify(data)))
      expect(JSON.stringify(asPlainData(data))).toBe(JSON.stringify(data))
    }),
  )
})

test('GIVEN a copy WHEN the original changes THEN it does not', () => {
  const original = { list: [{ value: 1 }], deep: { er: { value: 2 } } }
  const copy = copyOf(original)
  original.list[0]!.value = 9
  original.list.push({ value: 9 })
  original.deep.er.value = 9
  expect(copy).toEqual({ list: [{ value: 1 }], deep: { er: { value: 2 } } })
})
