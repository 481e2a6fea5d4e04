/**
 * The text of a PDF as a browser prints it: enough of ISO 32000-1 to follow fonts to their `ToUnicode` maps (9.10.3) and read
 * the strings that are shown (9.4.3). Without spaces: a browser places words instead of writing blanks.
 */
import { inflateSync } from 'node:zlib'

export interface PdfPage {
  /** pt, 1/72 in. */
  width: number
  height: number
}

interface Parsed {
  /** Dictionaries by their object's number. */
  objects: Map<string, string>
  streamOf: (id: string) => string | undefined
}

/** Streams are taken by their length: compressed bytes may look like anything, also like an end. */
const parse = (pdf: Uint8Array): Parsed => {
  const raw = Buffer.from(pdf).toString('latin1')
  const objects = new Map<string, string>()
  const streams = new Map<string, string>()
  const head = /(\d+) 0 obj\b([\s\S]*?)(stream\r?\n|endobj)/g
  for (let found = head.exec(raw); found !== null; found = head.exec(raw)) {
    const [, id, body, end] = found as unknown as [string, string, string, string]
    objects.set(id, body)
    if (end === 'endobj') continue
    const length = Number(/\/Length (\d+)/.exec(body)?.[1] ?? 0)
    streams.set(id, raw.slice(head.lastIndex, head.lastIndex + length))
    head.lastIndex += length
  }
  const streamOf = (id: string): string | undefined => {
    const stream = streams.get(id)
    if (stream === undefined || !objects.get(id)!.includes('/FlateDecode')) return stream
    return inflateSync(Buffer.from(stream, 'latin1')).toString('latin1')
  }
  return { objects, streamOf }
}

const fromHex = (hex: string): string =>
  (hex.match(/.{4}/g) ?? []).map((unit) => String.fromCharCode(Number.parseInt(unit, 16))).join('')

const toUnicode = (cmap: string): Map<number, string> => {
  const map = new Map<number, string>()
  for (const [, part] of cmap.matchAll(/beginbfchar([\s\S]*?)endbfchar/g)) {
    for (const [, code, text] of part!.matchAll(/<(\w+)>\s*<(\w+)>/g))
      map.set(Number.parseInt(code!, 16), fromHex(text!))
  }
  for (const [, part] of cmap.matchAll(/beginbfrange([\s\S]*?)endbfrange/g)) {
    for (const [, from, to, text] of part!.matchAll(/<(\w+)>\s*<(\w+)>\s*<(\w+)>/g)) {
      const first = Number.parseInt(from!, 16)
      for (let code = first; code <= Number.parseInt(to!, 16); code += 1) {
        map.set(code, String.fromCharCode(Number.parseInt(text!, 16) + code - first))
      }
    }
  }
  return map
}

/** All text in the order of drawing, without spaces. */
export const pdfText = (pdf: Uint8Array): string => {
  const { objects, streamOf } = parse(pdf)
  const fonts = new Map<string, Map<number, string>>()
  for (const body of objects.values()) {
    for (const [, name, id] of body.matchAll(/\/(F\d+) (\d+) 0 R/g)) {
      const cmap = /\/ToUnicode (\d+) 0 R/.exec(objects.get(id!) ?? '')?.[1]
      if (cmap !== undefined) fonts.set(name!, toUnicode(streamOf(cmap) ?? ''))
    }
  }
  let text = ''
  for (const id of objects.keys()) {
    const content = streamOf(id)
    if (content === undefined || !/\bTf\b/.test(content)) continue
    let font: Map<number, string> | undefined
    for (const [, name, hex] of content.matchAll(/\/(F\d+) [\d.]+ Tf|<(\w+)>/g)) {
      if (name !== undefined) font = fonts.get(name)
      else for (const code of hex!.match(/.{4}/g) ?? []) text += font?.get(Number.parseInt(code, 16)) ?? ''
    }
  }
  return text.replace(/\s+/g, '')
}

export const pdfPages = (pdf: Uint8Array): PdfPage[] =>
  [...parse(pdf).objects.values()].flatMap((body) => {
    const box = /\/Type \/Page\b[\s\S]*?\/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]/.exec(body)
    return box === null ? [] : { width: Number(box[1]), height: Number(box[2]) }
  })
