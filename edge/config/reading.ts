/**
 * Collects the faults and warnings of one config, each as a sentence with file, line, column and key, so that all of them
 * are told at once; and reads single quantities. A reader that meets a fault goes on with NaN: nothing of a config with a
 * fault ever leaves `load.ts`.
 */
import { LastwrapError } from '../errors.ts'
import { type Measured, parseQuantity, quoted } from '../signals/units.ts'
import type { Path, Place, ReadDocument } from './document.ts'

/** What is left of a file's type when keys may be missing or were refused. */
export type Loose<T> = T extends readonly (infer Item)[]
  ? Loose<Item>[]
  : T extends object
    ? { [Key in keyof T]?: Loose<T[Key]> }
    : T

interface Note {
  place: Place
  text: string
}

export interface Limits {
  /** SI. */
  min?: number
  max?: number
  /** The limits as a person would write them. */
  words?: string
  example?: string
}

export const keyText = (path: Path): string =>
  path.map((part, index) => (typeof part === 'number' ? `[${part}]` : `${index === 0 ? '' : '.'}${part}`)).join('')

const withKey = (path: Path, sentence: string): string =>
  path.length === 0 ? sentence : `${keyText(path)}: ${sentence}`

export class Reading {
  readonly fileName: string
  readonly #document: ReadDocument
  readonly #faults: Note[] = []
  readonly #warnings: Note[] = []
  /** Keys that somebody probably meant with an unknown one: their absence is not told a second time. */
  readonly #meant = new Set<string>()

  constructor(fileName: string, document: ReadDocument) {
    this.fileName = fileName
    this.#document = document
    for (const { place, sentence } of document.faults) this.#add(this.#faults, place, sentence)
  }

  #add(notes: Note[], place: Place, sentence: string): void {
    notes.push({
      place,
      text: `${this.fileName}:${place.line}:${place.column}: ${sentence}${sentence.endsWith('?') ? '' : '.'}`,
    })
  }

  /** `sentence` without its full stop: what is wrong with the value and what to do. */
  fault(path: Path, sentence: string): void {
    this.#add(this.#faults, this.#document.placeOf(path), withKey(path, sentence))
  }

  faultAtKey(path: Path, sentence: string): void {
    this.#add(this.#faults, this.#document.placeOfKey(path), withKey(path, sentence))
  }

  missing(path: Path, remedy: string): void {
    if (this.#meant.has(keyText(path))) return
    this.faultAtKey(path, `is missing: ${remedy}`)
  }

  warn(path: Path, sentence: string): void {
    this.#add(this.#warnings, this.#document.placeOf(path), withKey(path, sentence))
  }

  meant(path: Path): void {
    this.#meant.add(keyText(path))
  }

  /** SI; NaN where the text is absent (told elsewhere) or no such quantity (told here). */
  quantity(path: Path, text: unknown, measured: Measured, limits: Limits = {}): number {
    if (text === undefined) return Number.NaN
    try {
      const { valueSi } = parseQuantity(text, measured, limits.example)
      const { min = Number.NEGATIVE_INFINITY, max = Number.POSITIVE_INFINITY } = limits
      if (valueSi >= min && valueSi <= max) return valueSi
      this.fault(path, `${quoted(String(text))} is not between ${limits.words}: correct the number or its unit`)
    } catch (error) {
      if (!(error instanceof LastwrapError)) throw error
      this.fault(path, error.message)
    }
    return Number.NaN
  }

  /** As `quantity`, undefined where the text is absent. */
  optionalQuantity(path: Path, text: unknown, measured: Measured, limits: Limits = {}): number | undefined {
    return text === undefined ? undefined : this.quantity(path, text, measured, limits)
  }

  get faults(): string[] {
    return inOrder(this.#faults)
  }

  get warnings(): string[] {
    return inOrder(this.#warnings)
  }
}

const inOrder = (notes: readonly Note[]): string[] => [
  ...new Set(
    notes.toSorted((a, b) => a.place.line - b.place.line || a.place.column - b.place.column).map(({ text }) => text),
  ),
]
