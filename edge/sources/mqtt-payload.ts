/** One MQTT message → values for the tags of its topic. Pure; whatever is wrong with a message is said, never thrown. */
import { atPath, type PathStep } from './json-path.ts'
import { type Converted, fromText, fromUnknown, timeFrom } from './raw-value.ts'

export interface PayloadPaths {
  valuePath: readonly PathStep[] | undefined
  timePath: readonly PathStep[] | undefined
}

/** A value with the payload's own time (undefined without a time_path), or why there is none. */
export type PayloadValue =
  | { value: Exclude<Converted, { trouble: string }>['value']; stampMs: number | undefined }
  | { trouble: string }

/** A payload that is read once for all the tags of its topic. */
export class Payload {
  readonly #bytes: Buffer
  readonly #mostBytes: number
  #text: string | undefined
  #json: { value: unknown } | { trouble: string } | undefined

  constructor(bytes: Buffer, mostBytes: number) {
    this.#bytes = bytes
    this.#mostBytes = mostBytes
  }

  valueAt(paths: PayloadPaths): PayloadValue {
    if (this.#bytes.length > this.#mostBytes) {
      return { trouble: `is ${this.#bytes.length} bytes long, and at most ${this.#mostBytes} are looked at` }
    }
    const { valuePath, timePath } = paths
    if (valuePath === undefined && timePath === undefined) {
      const converted = this.#whole()
      return 'value' in converted ? { value: converted.value, stampMs: undefined } : converted
    }
    const json = this.#parsed()
    if ('trouble' in json) return json
    const converted = fromUnknown(valuePath === undefined ? json.value : atPath(json.value, valuePath))
    if ('trouble' in converted) return converted
    if (timePath === undefined) return { value: converted.value, stampMs: undefined }
    const stampMs = timeFrom(atPath(json.value, timePath))
    if (stampMs === undefined) {
      return { trouble: 'comes without a time at its time_path (ISO 8601 with a zone, or integer milliseconds)' }
    }
    return { value: converted.value, stampMs }
  }

  /** Plain text or a number; a JSON text in quotes counts as the text. */
  #whole(): Converted {
    const text = this.#asText()
    if (/^\s*"/.test(text)) {
      const json = this.#parsed()
      if ('value' in json) return fromUnknown(json.value)
    }
    if (/^\s*[{[]/.test(text)) return { trouble: 'is JSON: name the member that is meant in value_path' }
    return fromText(text)
  }

  #parsed(): { value: unknown } | { trouble: string } {
    this.#json ??= parse(this.#asText())
    return this.#json
  }

  #asText(): string {
    this.#text ??= this.#bytes.toString('utf8')
    return this.#text
  }
}

function parse(text: string): { value: unknown } | { trouble: string } {
  try {
    return { value: JSON.parse(text) }
  } catch {
    // JSON.parse has no other way to say so; the sentence goes to the tag.
    return { trouble: `is no JSON ("${text.slice(0, 40).replace(/\s+/g, ' ')}")` }
  }
}
