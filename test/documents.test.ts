/** What the documents say is there: links, commands, scripts, files, and a first config that loads. */
import { existsSync, readFileSync } from 'node:fs'
import { join, resolve } from 'node:path'
import { describe, expect, it } from 'vitest'
import { loadConfigText } from '../edge/config/load.ts'

const ROOT = resolve(import.meta.dirname, '..')
const read = (path: string): string => readFileSync(join(ROOT, path), 'utf8')
const DOCUMENTS = ['README.md', 'DEVELOPERS.md', 'CHANGELOG.md'] as const
const { scripts } = JSON.parse(read('package.json')) as { scripts: Record<string, string> }

describe.each(DOCUMENTS)('%s', (name) => {
  const text = read(name)

  it('links only to what exists', () => {
    for (const [, target = ''] of text.matchAll(/\]\(([^)]+)\)/g)) {
      if (target.startsWith('https://')) continue
      if (target.startsWith('#')) {
        const headings = [...text.matchAll(/^#+ (.*)$/gm)].map(
          ([, heading = '']) => `#${heading.toLowerCase().replaceAll(' ', '-')}`,
        )
        expect(headings).toContain(target)
      } else expect(existsSync(join(ROOT, target)), target).toBe(true)
    }
  })

  it('names only scripts that exist', () => {
    for (const [, script = ''] of text.matchAll(/npm run ([\w:-]+)/g)) expect(scripts).toHaveProperty(script)
  })

  it('names only files that exist', () => {
    const files = [...text.matchAll(/(?:^|[\s`(])((?:edge|test|config|dashboard|\.ci)\/[\w./-]*\w)/gm)].map(
      ([, file = '']) => file,
    )
    for (const file of files) expect(existsSync(join(ROOT, file)), file).toBe(true)
  })
})

describe('README.md', () => {
  const text = read('README.md')

  it('states the job before anything else', () => {
    expect(text.split('\n\n')[1]).toMatch(/splice/)
  })

  it('gives a first config that loads without a fault', () => {
    const block = /```yaml\n([\s\S]*?)```/.exec(text)?.[1] ?? ''
    const config = block.replace(/^ {3}/gm, '')
    const { config: loaded, warnings } = loadConfigText(config, 'press.yaml')
    expect(warnings).toEqual([])
    expect(loaded.unwinds[0]?.signals.map(({ signal }) => signal)).toContain('new_roll_ready')
  })

  it('carries the cautions', () => {
    for (const caution of [
      'only reads',
      'never permission to reach in',
      'slow or stop the line',
      'lock out',
      'explosive atmospheres',
      'interlock',
    ]) {
      expect(text).toContain(caution)
    }
  })
})
