/** Builds the dashboard before browser tests where a source is newer than what was built, so that they never see yesterday's pages. */
import { readdir, stat } from 'node:fs/promises'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { build } from 'vite'

const ROOT = fileURLToPath(new URL('../../dashboard', import.meta.url))
export const DASHBOARD_DIR = join(ROOT, 'dist')

const changedAtMs = async (path: string): Promise<number> => (await stat(path)).mtimeMs

const isUpToDate = async (): Promise<boolean> => {
  const builtAtMs = await changedAtMs(join(DASHBOARD_DIR, 'index.html')).catch(() => 0)
  const names = await readdir(ROOT, { recursive: true })
  // Folders too: a source that was removed changes only its folder. The root's own time changes with `dist`.
  const sources = names.filter((name) => name !== 'dist' && !name.startsWith('dist/'))
  const times = await Promise.all(sources.map((name) => changedAtMs(join(ROOT, name))))
  return times.every((tMs) => tMs < builtAtMs)
}

export default async (): Promise<void> => {
  // A build empties its folder first: a browser that is just reading from it (another test run) would miss files.
  if (!(await isUpToDate())) await build({ root: ROOT, logLevel: 'warn' })
}
