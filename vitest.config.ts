import { defineConfig } from 'vitest/config'

// Three kinds of tests: `fast` needs nothing but this checkout, `servers` starts real brokers and databases,
// `browser` drives the built daemon with a real browser.
export default defineConfig({
  test: {
    reporters: ['default', './test/support/left-out-reporter.ts'],
    projects: [
      {
        test: {
          name: 'fast',
          include: ['test/**/*.test.ts'],
          exclude: ['test/servers/**', 'test/browser/**'],
          testTimeout: 20_000,
        },
      },
      {
        test: {
          name: 'servers',
          include: ['test/servers/**/*.test.ts'],
          globalSetup: ['test/support/fetch-servers.ts'],
          testTimeout: 60_000,
          hookTimeout: 60_000,
        },
      },
      {
        test: {
          name: 'browser',
          include: ['test/browser/**/*.test.ts'],
          globalSetup: ['test/support/build-dashboard.ts'],
          fileParallelism: false,
          testTimeout: 120_000,
          hookTimeout: 60_000,
        },
      },
    ],
  },
})
