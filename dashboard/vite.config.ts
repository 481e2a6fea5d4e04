/** Builds the dashboard to `dist/`. Addresses are relative, so that it also works under a sub-path behind a proxy. */
import { fileURLToPath } from 'node:url'
import { defineConfig } from 'vite'

export default defineConfig({
  root: fileURLToPath(new URL('.', import.meta.url)),
  base: './',
  oxc: { jsx: { runtime: 'automatic', importSource: 'preact' } },
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
