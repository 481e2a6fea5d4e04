/** Whether a process that left its number behind still runs. */
import { readFileSync } from 'node:fs'

/** Whether a process of that number runs this program: numbers are given anew after a restart of the machine. */
export function runsLastwrap(pid: number): boolean {
  // In a container every start has the same number: its own is what the last one left behind.
  if (!Number.isInteger(pid) || pid <= 0 || pid === process.pid) return false
  try {
    return /main\.ts|lastwrap/.test(readFileSync(`/proc/${pid}/cmdline`, 'utf8'))
  } catch {
    return false
  }
}
