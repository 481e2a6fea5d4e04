/**
 * What a page's own program holds, by constructor, from a heap snapshot over the browser's debugging protocol. Left out is what
 * the browser keeps for itself: compiled code, its lists of slow frames and of what was fetched (both of which it bounds), elements.
 */
import type { CDPSession } from 'playwright-core'

/** Kinds of nodes that a program makes; the format is described by the snapshot's own `meta`. */
const OWN = new Set([
  'object',
  'array',
  'string',
  'concatenated string',
  'sliced string',
  'closure',
  'number',
  'regexp',
])
/** Strings are told apart by their beginning only. */
const NAME_LENGTH = 40

interface Snapshot {
  snapshot: { meta: { node_fields: string[]; node_types: [string[], ...unknown[]] } }
  nodes: number[]
  strings: string[]
}

/** Bytes by kind and constructor. */
export type HeapBytes = ReadonlyMap<string, number>

export const heapBytes = async (cdp: CDPSession): Promise<HeapBytes> => {
  const chunks: string[] = []
  const keep = ({ chunk }: { chunk: string }) => chunks.push(chunk)
  await cdp.send('HeapProfiler.collectGarbage')
  cdp.on('HeapProfiler.addHeapSnapshotChunk', keep)
  await cdp.send('HeapProfiler.takeHeapSnapshot', { reportProgress: false })
  cdp.off('HeapProfiler.addHeapSnapshotChunk', keep)
  const { snapshot, nodes, strings } = JSON.parse(chunks.join('')) as Snapshot
  const { node_fields: fields, node_types: types } = snapshot.meta
  const [type, name, size] = ['type', 'name', 'self_size'].map((field) => fields.indexOf(field)) as [
    number,
    number,
    number,
  ]
  const bytes = new Map<string, number>()
  for (let at = 0; at < nodes.length; at += fields.length) {
    const kind = types[0][nodes[at + type]!]!
    if (!OWN.has(kind)) continue
    const key = `${kind} ${strings[nodes[at + name]!]!.slice(0, NAME_LENGTH)}`
    bytes.set(key, (bytes.get(key) ?? 0) + nodes[at + size]!)
  }
  return bytes
}

export const sumOf = (heap: HeapBytes): number => [...heap.values()].reduce((sum, bytes) => sum + bytes, 0)

/** What grew most, for a message. */
export const grown = (before: HeapBytes, after: HeapBytes): string =>
  [...after]
    .map(([key, bytes]) => ({ key, more: bytes - (before.get(key) ?? 0) }))
    .sort((a, b) => b.more - a.more)
    .slice(0, 12)
    .map(({ key, more }) => `${more} B ${key}`)
    .join('\n')
