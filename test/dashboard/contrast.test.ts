import { readFileSync } from 'node:fs'
import { fileURLToPath } from 'node:url'
import { describe, expect, it } from 'vitest'

/** Relative luminance and contrast: WCAG 2.2, definitions. */
const luminance = (hex: string): number => {
  const [r = 0, g = 0, b = 0] = [1, 3, 5].map((at) => {
    const share = Number.parseInt(hex.slice(at, at + 2), 16) / 255
    return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4
  })
  return 0.2126 * r + 0.7152 * g + 0.0722 * b
}
const contrast = (a: string, b: string): number => {
  const [light = 0, dark = 0] = [luminance(a), luminance(b)].sort((x, y) => y - x)
  return (light + 0.05) / (dark + 0.05)
}

const css = readFileSync(fileURLToPath(new URL('../../dashboard/styles/tokens.css', import.meta.url)), 'utf8')
const blockAfter = (selector: string): Record<string, string> => {
  const at = css.indexOf(selector)
  const block = css.slice(css.indexOf('{', at), css.indexOf('}', at))
  return Object.fromEntries([...block.matchAll(/--([\w-]+):\s*(#[0-9a-f]{6})/g)].map((match) => [match[1]!, match[2]!]))
}
const light = blockAfter(':root {')
const dark = { ...light, ...blockAfter(':root[data-theme="dark"]') }
const auto = { ...light, ...blockAfter(':root[data-theme="auto"]') }

it('is computed as published', () => {
  // WCAG examples: #767676 on white passes 4.5:1, #777777 does not; black on white is 21:1.
  expect(contrast('#000000', '#ffffff')).toBeCloseTo(21, 5)
  expect(contrast('#767676', '#ffffff')).toBeCloseTo(4.542, 3)
  expect(contrast('#777777', '#ffffff')).toBeCloseTo(4.478, 3)
  expect(contrast('#0072b2', '#ffffff')).toBeCloseTo(5.185, 3)
})

describe.each([
  ['light', light],
  ['dark', dark],
])('%s', (_name, colours) => {
  // 7:1 preferred and 15:1 the most for screens that are watched (draft of IMO MSC/Circ.982, 5.6.3.5).
  it.each([
    ['ink', 'ground'],
    ['soft', 'ground'],
    ['high-ink', 'high'],
    ['medium-ink', 'medium'],
  ])('%s on %s lies between 7:1 and 15:1', (text, ground) => {
    const value = contrast(colours[text]!, colours[ground]!)
    expect(value).toBeGreaterThanOrEqual(7)
    expect(value).toBeLessThanOrEqual(15)
  })
  it.each([
    ['ink', 'raised'],
    ['soft', 'raised'],
    ['high-text', 'ground'],
    ['high-text', 'raised'],
  ])('%s on %s is at least 7:1', (text, ground) => {
    expect(contrast(colours[text]!, colours[ground]!)).toBeGreaterThanOrEqual(7)
  })
  // WCAG 1.4.11: what has to be seen to understand a drawing.
  it.each(['web', 'focus', 'trace-1', 'trace-2', 'trace-3'])('%s is seen on the ground and on both bands', (name) => {
    for (const ground of ['ground', 'band-a', 'band-b'])
      expect(contrast(colours[name]!, colours[ground]!)).toBeGreaterThanOrEqual(3)
  })
})

it('is the same dark whether chosen or automatic', () => {
  expect(auto).toEqual(dark)
})
