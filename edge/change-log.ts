/** What the daemon tells its log: changes, once each, and what people have to mend; never samples. */
import type { SpliceView } from './api/messages.ts'
import type { Log } from './log.ts'
import type { Sample } from './sample.ts'

/** A signal whose reports can't be values is named at once and then so often, ms. */
const TELL_IGNORED_MS = 60_000
const LONGEST_VALUE = 40

export class ChangeLog {
  readonly #log: Log
  readonly #nowMs: () => number
  /** What was told last, by unwind or part. */
  readonly #told = new Map<string, string>()
  readonly #ignoredToldMs = new Map<string, number>()

  constructor(log: Log, nowMs: () => number) {
    this.#log = log
    this.#nowMs = nowMs
  }

  /** Once when a splice is recognised and once for each verdict; revisions of figures are no news. */
  splice(splice: SpliceView): void {
    const verdict = splice.outcome === null ? 'recognised' : `${splice.outcome} ${splice.cause ?? ''}`.trim()
    const line = `splice ${splice.id} ${verdict}`
    if (this.#told.get(splice.unwind) === line) return
    this.#told.set(splice.unwind, line)
    this.#log.info({ splice: splice.id }, line)
  }

  /** Trouble with a part, told when it begins, changes or ends. */
  trouble(part: 'history' | 'database', trouble: string | undefined): void {
    const line = trouble === undefined ? `${part} is well again` : `${part}: ${trouble}`
    const before = this.#told.get(part)
    if (before === line || (before === undefined && trouble === undefined)) return
    this.#told.set(part, line)
    if (trouble === undefined) this.#log.info({}, line)
    else this.#log.warn({}, line)
  }

  /** A report that can't be a value of its signal. */
  ignored(unwind: string, signal: string, sample: Sample): void {
    const nowMs = this.#nowMs()
    const key = `${unwind}.${signal}`
    const toldMs = this.#ignoredToldMs.get(key)
    if (toldMs !== undefined && Math.abs(nowMs - toldMs) < TELL_IGNORED_MS) return
    this.#ignoredToldMs.set(key, nowMs)
    const said = String(sample.value ?? '').slice(0, LONGEST_VALUE)
    this.#log.warn(
      { unwind },
      `${sample.address} of ${sample.source} says "${said}", which can't be a ${signal} of ${unwind} and is ignored: check address, range and map in the config`,
    )
  }
}
