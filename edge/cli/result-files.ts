/**
 * The three files of a replay. They are written under names of their own and put in place at the end: a replay that fails
 * leaves nothing behind, and costs no results of the last one. What a killed one left behind goes at the next start.
 */
import { mkdir, readdir, rename, rm, rmdir } from 'node:fs/promises'
import { join } from 'node:path'
import { fileReasonOf, LastwrapError } from '../errors.ts'
import { runsLastwrap } from '../history/running-process.ts'
import { CsvWriter } from '../outputs/csv.ts'

const NAMES = ['forecast.csv', 'splices.csv', 'alarms.csv']
/** Whose it is stands in its name. */
const UNFINISHED = `.${process.pid}.part`
const UNFINISHED_NAME = /^(.+\.csv)\.(\d+)\.part$/

export class ResultFiles {
  readonly forecasts: CsvWriter<'forecast'>
  readonly splices: CsvWriter<'splices'>
  readonly alarms: CsvWriter<'alarms'>
  readonly #folder: string
  readonly #isFolderNew: boolean
  readonly #paths: readonly string[]

  private constructor(folder: string, isFolderNew: boolean) {
    this.#folder = folder
    this.#isFolderNew = isFolderNew
    const [forecast, splices, alarms] = NAMES.map((name) => join(folder, name))
    this.#paths = [forecast!, splices!, alarms!]
    this.forecasts = new CsvWriter('forecast', forecast + UNFINISHED)
    this.splices = new CsvWriter('splices', splices + UNFINISHED)
    this.alarms = new CsvWriter('alarms', alarms + UNFINISHED)
  }

  /**
   * @param tell - is told in a sentence what was removed.
   * @throws LastwrapError `wrong_input` where the folder can't be made.
   */
  static async open(folder: string, tell: (sentence: string) => void): Promise<ResultFiles> {
    try {
      const made = await mkdir(folder, { recursive: true })
      const left = await removeLeft(folder)
      if (left.length > 0) tell(`Removed what a replay that was killed left in ${folder}: ${left.join(', ')}.`)
      return new ResultFiles(folder, made !== undefined)
    } catch (thrown) {
      throw cannot(folder, thrown)
    }
  }

  /** Lets the writers catch up. */
  async ready(): Promise<void> {
    for (const writer of [this.forecasts, this.splices, this.alarms]) await writer.ready()
  }

  /** Everything is there: put it in place. @throws LastwrapError where it can't be written. */
  async keep(): Promise<void> {
    for (const writer of [this.forecasts, this.splices, this.alarms]) await writer.close()
    for (const path of this.#paths) {
      await rename(path + UNFINISHED, path).catch((thrown: unknown) => {
        throw cannot(path, thrown)
      })
    }
  }

  /** It failed: as if it had not been tried. */
  async drop(): Promise<void> {
    for (const writer of [this.forecasts, this.splices, this.alarms]) await writer.close().catch(() => undefined)
    for (const path of this.#paths) await rm(path + UNFINISHED, { force: true }).catch(() => undefined)
    if (this.#isFolderNew) await rmdir(this.#folder).catch(() => undefined)
  }
}

/** Unfinished results whose process is gone. @returns their names. */
async function removeLeft(folder: string): Promise<string[]> {
  const left = (await readdir(folder)).filter((name) => {
    const [, result, pid] = UNFINISHED_NAME.exec(name) ?? []
    return NAMES.includes(result ?? '') && !runsLastwrap(Number(pid))
  })
  for (const name of left) await rm(join(folder, name), { force: true })
  return left.sort()
}

const cannot = (path: string, thrown: unknown): LastwrapError =>
  new LastwrapError(
    'wrong_input',
    `The results can't be written to ${path} (${fileReasonOf(thrown)}): name another folder with --out.`,
    { cause: thrown },
  )
