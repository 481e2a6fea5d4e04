/**
 * YAML text → plain data that remembers where everything stands. Knows nothing of keys and meanings.
 *
 * Keys are text: `{ false: A }` and `{ 10: idle }` have the keys "false" and "10". Directly under a section named in
 * `literalKeysUnder` a key stays as written, so that a material 0471 is not 471.
 */
import { type Document, isAlias, isMap, isScalar, isSeq, LineCounter, parseDocument, type YAMLError } from 'yaml'

export type Path = readonly (string | number)[]
export interface Place {
  line: number
  column: number
}
/** A fault before it knows its file: what, and where. */
export interface DocumentFault {
  place: Place
  sentence: string
}

export interface ReadDocument {
  data: unknown
  faults: DocumentFault[]
  /** The structure could not be read: what `data` lacks says nothing. */
  isBroken: boolean
  /** Where the value of `path` stands; for a path that the file lacks, where its nearest parent begins. */
  placeOf(path: Path): Place
  /** Where the key of `path` stands; else as `placeOf`. */
  placeOfKey(path: Path): Place
}

/** A config of 50 unwinds has some 60 kB: beyond these it is no config, or one made to exhaust the reader. */
export const LIMITS = { bytes: 1_000_000, nodes: 100_000, depth: 40, syntaxFaults: 5 } as const

const START: Place = { line: 1, column: 1 }

class TooMuch extends Error {}

/** After an open quote or bracket the rest of the file only seems wrong. */
const HIDING: ReadonlySet<YAMLError['code']> = new Set(['MISSING_CHAR', 'RESOURCE_EXHAUSTION'])

const keyOf = (path: Path): string => JSON.stringify(path)

const SYNTAX: Partial<Record<YAMLError['code'], string>> = {
  TAB_AS_INDENT: 'a tab stands where spaces belong: indent with spaces',
  BAD_INDENT: 'the indentation does not fit what stands above: give all keys of one section the same number of spaces',
  MULTILINE_IMPLICIT_KEY: 'a key goes over more than one line: is a colon, a quote or a bracket missing above?',
  BLOCK_AS_IMPLICIT_KEY:
    'a second "key: value" begins where a value was expected: put it on a line of its own, or quote the text',
  MULTIPLE_DOCS: 'a second document begins ("---"): a config is one document',
  MISSING_CHAR:
    'a quote or bracket that was opened above is never closed, or a comma or colon is missing before this place',
  BAD_ALIAS: 'an alias (*name) has no anchor (&name) above it: write the value out',
  BAD_SCALAR_START: 'this character can only stand inside quotes: quote the text',
  RESOURCE_EXHAUSTION: 'sections are nested too deep to be a config',
}

/** What stands in braces or brackets ran into the next key: the parser calls that an indentation. */
const openBracket = ({ code, message }: YAMLError): '{' | '[' | undefined => {
  if (code !== 'BAD_INDENT' || !message.startsWith('Flow ')) return undefined
  return message.startsWith('Flow map') ? '{' : '['
}

function syntaxSentence(error: YAMLError): string {
  const open = openBracket(error)
  if (open !== undefined) {
    const close = open === '{' ? '}' : ']'
    return `the file is no valid YAML here: a ${open} that was opened above is not closed: write its ${close} before this place`
  }
  const known = SYNTAX[error.code]
  if (known !== undefined) return `the file is no valid YAML here: ${known}`
  const detail = error.message.replace(/\.?\s*$/, '')
  return `the file is no valid YAML here (${detail}): correct what stands before this place`
}

/** Reads `text`; throws nothing. */
export function readDocument(text: string, literalKeysUnder: readonly string[] = []): ReadDocument {
  const faults: DocumentFault[] = []
  const keys = new Map<string, Place>()
  const values = new Map<string, Place>()
  const lookUp = (path: Path, first: Map<string, Place>): Place => {
    const own = first.get(keyOf(path))
    if (own !== undefined) return own
    for (let length = path.length; length > 0; length--) {
      const parent = path.slice(0, length)
      const place = keys.get(keyOf(parent)) ?? values.get(keyOf(parent))
      if (place !== undefined) return place
    }
    return START
  }
  const result = (data: unknown, isBroken: boolean): ReadDocument => ({
    data,
    faults,
    isBroken,
    placeOf: (path) => lookUp(path, values),
    placeOfKey: (path) => lookUp(path, keys),
  })
  const tooMuch = (sentence: string): ReadDocument => {
    faults.push({ place: START, sentence })
    return result(undefined, true)
  }

  if (Buffer.byteLength(text) > LIMITS.bytes) {
    return tooMuch(`the file is larger than ${LIMITS.bytes / 1e6} MB, which no config is: give the right file`)
  }
  const lines = new LineCounter()
  let document: Document.Parsed
  try {
    // Duplicates are found below, where both keys' lines are known, and 10 and '10' count as one.
    document = parseDocument(text, { lineCounter: lines, prettyErrors: false, uniqueKeys: false })
  } catch (error) {
    if (error instanceof RangeError) return tooMuch('sections are nested too deep to be a config: give the right file')
    throw error
  }
  const placeAt = (offset: number | undefined): Place => {
    if (offset === undefined) return START
    const { line, col } = lines.linePos(offset)
    return { line: Math.max(line, 1), column: Math.max(col, 1) }
  }
  if (document.errors.length > 0) {
    const [first] = document.errors
    const hidesRest = first !== undefined && (HIDING.has(first.code) || openBracket(first) !== undefined)
    for (const error of document.errors.slice(0, hidesRest ? 1 : LIMITS.syntaxFaults)) {
      faults.push({ place: placeAt(error.pos[0]), sentence: syntaxSentence(error) })
    }
    return result(undefined, true)
  }

  let nodes = 0
  const plain = (node: unknown, path: Path, depth: number): unknown => {
    if (++nodes > LIMITS.nodes || depth > LIMITS.depth) throw new TooMuch()
    const offset = (node as { range?: [number, number, number] | null } | null)?.range?.[0]
    // What an alias stands for is placed where the alias is.
    if (offset !== undefined && !values.has(keyOf(path))) values.set(keyOf(path), placeAt(offset))
    if (isAlias(node)) return plain(node.resolve(document), path, depth + 1)
    if (isScalar(node)) return typeof node.value === 'bigint' ? Number(node.value) : node.value
    if (isSeq(node)) return node.items.map((item, index) => plain(item, [...path, index], depth + 1))
    if (!isMap(node)) return null
    // No prototype: a key called __proto__ or constructor is a key like any other.
    const out: Record<string, unknown> = Object.create(null)
    for (const pair of node.items) {
      const place = placeAt((pair.key as { range?: [number, number, number] | null } | null)?.range?.[0])
      if (!isScalar(pair.key) || pair.key.value === null) {
        faults.push({ place, sentence: 'a key here is no text: write a name before the colon, quoted if need be' })
        continue
      }
      const isLiteral = literalKeysUnder.includes(path.join('.')) && pair.key.source !== undefined
      const key = isLiteral ? pair.key.source! : String(pair.key.value)
      const itemPath = [...path, key]
      const first = keys.get(keyOf(itemPath))
      if (Object.hasOwn(out, key)) {
        const where = first === undefined ? '' : `, first on line ${first.line}`
        faults.push({
          place,
          sentence: `${itemPath.join('.')} stands twice in this section${where}: delete one of the two`,
        })
        continue
      }
      keys.set(keyOf(itemPath), place)
      out[key] = plain(pair.value, itemPath, depth + 1)
    }
    return out
  }
  try {
    return result(plain(document.contents, [], 0), false)
  } catch (error) {
    if (!(error instanceof TooMuch)) throw error
    return tooMuch(
      `the file has more than ${LIMITS.nodes} values or ${LIMITS.depth} levels once its aliases are written out: write values out without aliases`,
    )
  }
}
