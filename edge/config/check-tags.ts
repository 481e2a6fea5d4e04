/** What has to fit between tags of all unwinds: one tag is read in one way. */

import { tagKey } from '../sample.ts'
import { listed } from '../signals/units.ts'
import { type SignalConfig, type SourceConfig, tagAddress, type UnwindConfig } from './config.ts'
import type { Path } from './document.ts'
import type { Reading } from './reading.ts'

interface Use {
  path: Path
  signal: SignalConfig
}

const placeOf = (unwind: UnwindConfig, { signal, spindle, station }: SignalConfig): Path => {
  const base = ['unwinds', unwind.id, 'signals', signal]
  if (station !== undefined) return [...base, 'by_station', station]
  return spindle === undefined ? base : [...base, 'by_spindle', spindle]
}

export function checkTags(
  reading: Reading,
  sources: Readonly<Record<string, SourceConfig>>,
  unwinds: readonly UnwindConfig[],
): void {
  const uses = new Map<string, Use[]>()
  for (const unwind of unwinds) {
    for (const signal of unwind.signals) {
      if (signal.tag.address === '') continue
      const key = tagKey(signal.tag.source, tagAddress(signal.tag))
      uses.set(key, [...(uses.get(key) ?? []), { path: placeOf(unwind, signal), signal }])
    }
  }
  for (const [first, ...others] of uses.values()) {
    if (first === undefined) continue
    for (const { path, signal } of others) checkSecondUse(reading, first, path, signal)
  }
  const used = new Set(unwinds.flatMap(({ signals }) => signals.map(({ tag }) => tag.source)))
  for (const name of Object.keys(sources)) {
    if (!used.has(name)) reading.warn(['sources', name], 'no signal uses it: map one, or delete the source')
  }
}

function checkSecondUse(reading: Reading, first: Use, path: Path, signal: SignalConfig): void {
  const one = first.signal
  const where = first.path.join('.')
  if (one.tag.address !== signal.tag.address) {
    reading.fault(
      [...path, 'address'],
      `reads in a recording as the tag of ${where} does (an address with "#" against a value_path): rename one`,
    )
    return
  }
  if (one.tag.timePath !== signal.tag.timePath) {
    reading.fault(
      [...path, 'time_path'],
      `differs from that of ${where}, which is the same tag: write the same at both`,
    )
  }
  const isSameUnwind = first.path[1] === path[1]
  if (isSameUnwind && one.signal === signal.signal) {
    reading.fault(
      [...path, 'address'],
      `is the tag of ${where} too: each ${signal.station === undefined ? 'spindle' : 'station'} has its own`,
    )
  } else if (
    one.unit !== undefined &&
    signal.unit !== undefined &&
    one.unit !== signal.unit &&
    one.scale === signal.scale
  ) {
    const units = listed([one.unit, signal.unit], 'and')
    reading.warn([...path, 'unit'], `the same tag is in ${units}, here and at ${where}: one of them must be wrong`)
  }
}
