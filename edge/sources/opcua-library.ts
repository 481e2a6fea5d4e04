/**
 * The OPC UA library, loaded when it is first needed (0.7 s, which a command without OPC UA shouldn't pay), with its warnings
 * sent to our log instead of the console.
 */
import type { SourceLog } from './ports.ts'

export type OpcUa = typeof import('node-opcua-client')

let loading: Promise<OpcUa> | undefined
let currentLog: SourceLog | undefined

export async function loadOpcUa(log: SourceLog): Promise<OpcUa> {
  currentLog = log
  loading ??= import('node-opcua-client').then((library) => {
    library.setWarningLogger(note)
    library.setErrorLogger(note)
    library.setDebugLogger(note)
    return library
  })
  return loading
}

/** Colour codes, and what the library says about things that we do on purpose. */
// biome-ignore lint/suspicious/noControlCharactersInRegex: escape sequences begin with that character
const COLOURS = /\u001b\[[0-9;]*m/g
const ON_PURPOSE = /unknown monitoredItem|previous message repeated/

function note(_context: unknown, ...parts: unknown[]): void {
  const text = parts.map(String).join(' ').replace(COLOURS, '').replace(/\s+/g, ' ').trim()
  if (text !== '' && !ON_PURPOSE.test(text)) currentLog?.debug(`OPC UA library: ${text.slice(0, 500)}`)
}
