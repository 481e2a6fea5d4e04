/** Progress of long work: one line on a terminal, nothing in a pipe. */
export class Progress {
  readonly #isShown = process.stderr.isTTY === true
  #lastMs = 0

  /** Shows a line in place of the last one, a few times a second. */
  show(text: string, nowMs: number): void {
    if (!this.#isShown || nowMs - this.#lastMs < 200) return
    this.#lastMs = nowMs
    process.stderr.write(`\r\u001b[K${text}`)
  }

  /** Clears the line. */
  done(): void {
    if (this.#isShown && this.#lastMs > 0) process.stderr.write('\r\u001b[K')
  }
}
