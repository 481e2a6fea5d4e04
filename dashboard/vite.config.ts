/** Builds the dashboard to `dist/`. Addresses are relative, so that it also works under a sub-path behind a proxy. */
import { readFile, writeFile } from 'node:fs/promises'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { gzipSync } from 'node:zlib'
import { defineConfig, type Plugin } from 'vite'

/** Puts a compressed twin beside each script and style sheet: the daemon sends it as it is and compresses nothing itself. */
const compressedTwins = (): Plugin => ({
  name: 'compressed-twins',
  apply: 'build',
  // Only what is written is final: scripts still change while the bundle is put together.
  async writeBundle({ dir = '' }, bundle) {
    const names = Object.keys(bundle).filter((name) => /\.(js|css)$/.test(name))
    for (const name of names) {
      const path = join(dir, name)
      await writeFile(`${path}.gz`, gzipSync(await readFile(path), { level: 9 }))
    }
  },
})

export default defineConfig({
  root: fileURLToPath(new URL('.', import.meta.url)),
  base: './',
  plugins: [compressedTwins()],
  // Under a test runner the tool would else take it for development: larger, and with this machine's paths in it.
  oxc: { jsx: { runtime: 'automatic', importSource: 'preact', development: false } },
  // Everything is a file of our own origin: no data: URLs, which a strict content-security policy would refuse.
  build: {
    outDir: 'dist',
    emptyOutDir: true,
    assetsInlineLimit: 0,
    target: 'es2022',
    modulePreload: { polyfill: false },
  },
  server: { port: 5173, proxy: { '/api': 'http://127.0.0.1:8421' } },
})
