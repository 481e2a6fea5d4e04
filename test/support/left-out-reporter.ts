/**
 * The last words of a test run: what was left out and why, then one line with the counts, always the last.
 *
 * With LASTWRAP_NOTHING_LEFT_OUT=1 a run that left anything out fails.
 */
import type { Reporter, TestCase, TestModule, TestSuite } from 'vitest/node'
import { SERVER_NAMES, whyLeftOut } from './server-binaries.ts'

/** More lines than this say nothing more to anybody. */
const MOST_LINES = 40

export default class LeftOutReporter implements Reporter {
  onTestRunEnd(modules: readonly TestModule[], unhandledErrors: readonly unknown[]): void {
    const counts = { passed: 0, failed: 0, skipped: 0 }
    const leftOut: string[] = []
    for (const module of modules) {
      const failedBefore = counts.failed
      for (const test of module.children.allTests()) {
        const { state } = test.result()
        counts[state === 'pending' ? 'skipped' : state] += 1
      }
      // A file that can't be loaded has no tests to fail, and still isn't well.
      if (module.state() === 'failed' && counts.failed === failedBefore) counts.failed += 1
      leftOut.push(...leftOutOf(module))
    }
    counts.failed += unhandledErrors.length
    const mustNotLeaveOut = process.env['LASTWRAP_NOTHING_LEFT_OUT'] === '1'
    // Printed at the very end, behind whatever the other reporters and the closing of the run still have to say.
    process.once('exit', () => {
      for (const line of lastWords(leftOut, mustNotLeaveOut)) console.log(line)
      const skipped = counts.skipped > 0 ? `, ${counts.skipped} skipped` : ''
      console.log(`Tests: ${counts.passed} passed, ${counts.failed} failed${skipped}`)
    })
    if (mustNotLeaveOut && (counts.skipped > 0 || leftOut.length > 0)) process.exitCode = 1
  }
}

function lastWords(leftOut: readonly string[], mustNotLeaveOut: boolean): string[] {
  if (leftOut.length === 0) return []
  const lines = ['', 'Left out:', ...leftOut.slice(0, MOST_LINES).map((what) => `  ${what}`)]
  if (leftOut.length > MOST_LINES) lines.push(`  and ${leftOut.length - MOST_LINES} more`)
  for (const name of SERVER_NAMES) {
    const reason = whyLeftOut(name)
    if (reason !== undefined) lines.push(`  ${name} isn't there: ${reason}`)
  }
  if (mustNotLeaveOut) lines.push('Nothing may be left out (LASTWRAP_NOTHING_LEFT_OUT=1): this run fails.')
  return lines
}

const isLeftOut = (test: TestCase): boolean => test.result().state === 'skipped'

/** The largest units that were left out whole: the file, else its suites, else single tests. */
function leftOutOf(unit: TestModule | TestSuite): string[] {
  const tests = [...unit.children.allTests()]
  const count = tests.filter(isLeftOut).length
  if (count === 0) return []
  const name = unit.type === 'module' ? unit.relativeModuleId : `${unit.module.relativeModuleId} > ${unit.fullName}`
  if (count === tests.length) return [`${name} (${count} ${count === 1 ? 'test' : 'tests'})${noteOf(tests[0]!)}`]
  return unit.children.array().flatMap((child) => {
    if (child.type === 'suite') return leftOutOf(child)
    return isLeftOut(child) ? [`${child.module.relativeModuleId} > ${child.fullName}${noteOf(child)}`] : []
  })
}

/** What a test said when it left itself out by `context.skip(note)`. */
function noteOf(test: TestCase): string {
  const result = test.result()
  return result.state === 'skipped' && result.note ? `: ${result.note}` : ''
}
