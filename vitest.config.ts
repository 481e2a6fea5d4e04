import { join } from 'node:path'
import { defineConfig } from 'vitest/config'
import LongestFirst from './test/support/longest-first.ts'

const TIMED = ['test/browser/wall.test.ts']

// Tests start the daemon and its commands a hundred times: what Node compiles for the first of them, the others find done.
process.env['NODE_COMPILE_CACHE'] ??= join(import.meta.dirname, 'node_modules/.cache/compiled')

// Four kinds of tests: `fast` needs nothing but this checkout, `servers` starts real brokers and databases,
// `browser` drives the built daemon with a real browser, and `wall` does so by the clock.
export default defineConfig({
  test: {
    // Tests with servers wait for a process or a clock more than they compute; a machine with two cores would get one worker.
    maxWorkers: 3,
    sequence: { sequencer: LongestFirst },
    reporters: ['default', './test/support/left-out-reporter.ts'],
    projects: [
      {
        test: {
          name: 'fast',
          // None of them leaves anything behind: modules are loaded once a worker, not once a file, which saves two fifths of the time.
          isolate: false,
          include: ['test/**/*.test.ts'],
          exclude: ['test/servers/**', 'test/browser/**'],
          setupFiles: ['test/support/seeds.ts'],
          testTimeout: 60_000,
          hookTimeout: 60_000,
        },
      },
      {
        test: {
          name: 'servers',
          // The whole chain waits minutes for splices that really happen: beside the others, not before them.
          include: ['test/servers/**/*.test.ts', 'test/browser/end-to-end.test.ts'],
          globalSetup: ['test/support/fetch-servers.ts', 'test/support/build-dashboard.ts'],
          testTimeout: 60_000,
          hookTimeout: 60_000,
        },
      },
      {
        test: {
          name: 'browser',
          include: ['test/browser/**/*.test.ts'],
          exclude: ['test/browser/end-to-end.test.ts', ...TIMED],
          globalSetup: ['test/support/build-dashboard.ts'],
          testTimeout: 120_000,
          hookTimeout: 60_000,
        },
      },
      {
        test: {
          name: 'wall',
          include: TIMED,
          globalSetup: ['test/support/build-dashboard.ts'],
          // What the wall shows within a second is measured, so nothing runs beside it.
          fileParallelism: false,
          sequence: { groupOrder: 1 },
          testTimeout: 120_000,
          hookTimeout: 60_000,
        },
      },
    ],
  },
})
