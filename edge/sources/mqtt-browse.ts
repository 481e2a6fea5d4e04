/** Listens to a broker for some seconds and lists what was published: topics, payload members, and a sample of each. */

import { LastwrapError } from '../errors.ts'
import { type BrowseOptions, type BrowseResult, type BrowseRow, matchesSearch } from './browse-row.ts'
import { pathsIn } from './json-path.ts'
import { connectMqtt } from './mqtt-connect.ts'

const LISTEN_S = 5
const MOST_ROWS = 5000
const MOST_PAYLOAD = 65_536
const LONGEST_VALUE = 60

export async function browseMqtt(options: BrowseOptions): Promise<BrowseResult> {
  const { ports, topic = '#', listenS = LISTEN_S, mostRows = MOST_ROWS } = options
  const rows = new Map<string, BrowseRow>()
  let seen = 0
  let isCut = false
  const onMessage = (name: string, bytes: Buffer): void => {
    seen += 1
    options.onProgress?.(seen)
    for (const row of rowsOf(name, bytes)) {
      if (!matchesSearch(options.search, `${row.address} ${row.valuePath ?? ''}`)) continue
      const key = `${row.address}#${row.valuePath ?? ''}`
      if (!rows.has(key) && rows.size >= mostRows) {
        isCut = true
        continue
      }
      if (!rows.has(key)) options.onRow?.(row)
      rows.set(key, row)
    }
  }
  const { client } = await connectMqtt(
    {
      name: options.name,
      url: options.endpoint,
      user: options.user,
      caFile: options.caFile,
      // A look must not take over the session of a running monitor.
      clientId: `lastwrap-look-${process.pid}`,
      keepAliveS: 5,
      maxPayloadBytes: MOST_PAYLOAD,
    },
    ports,
    (each) => each.on('message', onMessage),
    5,
    false,
  )
  try {
    const [grant] = await client.subscribeAsync(topic, { qos: 0 })
    if (grant === undefined || grant.qos >= 128) {
      throw new LastwrapError(
        'sign_in_refused',
        `The broker ${options.endpoint} does not let this user read "${topic}": ask for a topic that it may read.`,
      )
    }
    await new Promise((resolve) => setTimeout(resolve, listenS * 1000))
  } finally {
    await client.endAsync(true)
  }
  const sorted = [...rows.values()].sort((a, b) => (a.path < b.path ? -1 : a.path > b.path ? 1 : 0))
  return { rows: sorted, seen, isCut }
}

function rowsOf(topic: string, bytes: Buffer): BrowseRow[] {
  const base = { address: topic, path: topic, unit: undefined, quality: undefined }
  if (bytes.length > MOST_PAYLOAD) {
    return [{ ...base, valuePath: undefined, type: 'too large', value: `${bytes.length} bytes` }]
  }
  const text = bytes.toString('utf8')
  if (/^\s*[{[]/.test(text)) {
    try {
      return pathsIn(JSON.parse(text)).map(({ path, value }) => ({
        ...base,
        valuePath: path,
        type: value === null ? 'null' : typeof value,
        value: cut(String(value)),
      }))
    } catch {
      return [{ ...base, valuePath: undefined, type: 'broken JSON', value: cut(text) }]
    }
  }
  return [{ ...base, valuePath: undefined, type: Number.isNaN(Number(text)) ? 'string' : 'number', value: cut(text) }]
}

function cut(text: string): string {
  const oneLine = text.replace(/\s+/g, ' ').trim()
  return oneLine.length > LONGEST_VALUE ? `${oneLine.slice(0, LONGEST_VALUE - 1)}…` : oneLine
}
