/** What the stand-in shows of its past, and of its tags. */
import type { ConsistencyView, UnwindView } from '../../edge/api/messages.ts'
import type { HistoryQuery, HistoryView } from '../../edge/api/messages-history.ts'
import type { SignalsView, TagUseView, TagView } from '../../edge/api/messages-signals.ts'
import { COLUMN_UNITS } from '../../edge/columns.ts'
import { reducedHistory } from '../../edge/history/reduced-history.ts'
import type { TimeSpan } from '../../edge/history/store.ts'
import { createMessages } from '../../edge/messages/message.ts'

/** How often the daemon keeps a forecast, ms. */
const EVERY_MS = 5000

/** The daemon's own reduction over forecasts that are made up on the fly. */
export const standInHistory = (
  past: (tMs: number) => UnwindView[],
  query: HistoryQuery,
): Promise<HistoryView | undefined> =>
  reducedHistory(
    {
      forecasts: (unwind: string, { fromTMs, toTMs }: TimeSpan) => {
        const rows: UnwindView[] = []
        for (let tMs = Math.ceil(fromTMs / EVERY_MS) * EVERY_MS; tMs < toTMs; tMs += EVERY_MS) {
          const view = past(tMs).find((one) => one.unwind === unwind)
          if (view !== undefined) rows.push(view)
        }
        return rows
      },
      signals: () => [],
      signalRollups: () => [],
    },
    {
      ...query,
      isForecast: (column) => Object.hasOwn(COLUMN_UNITS, column),
      unitOf: (column) => (COLUMN_UNITS as Readonly<Record<string, string>>)[column] ?? '',
      pause: async () => undefined,
    },
  )

const use = (unwind: string, signal: string, fields: Partial<TagUseView>): TagUseView => ({
  unwind,
  signal,
  spindle: null,
  tag_unit: null,
  raw: null,
  scaled: null,
  bit: null,
  inverted: false,
  value: null,
  unit: '',
  stale: false,
  ignored: 0,
  refused: null,
  ...fields,
})

const tag = (source: string, address: string, fields: Partial<TagView>): TagView => ({
  source,
  address,
  stated_unit: null,
  quality: 'good',
  age_seconds: 0.4,
  reports_per_minute: 600,
  gaps: 0,
  longest_gap_seconds: 0,
  last_gap: null,
  uses: [],
  ...fields,
})

export const standInSignals = (nowMs: number, startMs: number): SignalsView => {
  const iso = (tMs: number): string => new Date(tMs).toISOString()
  const lostS = (nowMs - startMs) / 1000 + 360
  const press = (signal: string, value: TagUseView['value'], unit: string, more: Partial<TagUseView> = {}) =>
    use('label_press', signal, { value, unit, tag_unit: unit === '' ? null : unit, raw: value, ...more })
  const lost = { quality: 'bad', age_seconds: lostS, reports_per_minute: 0 } as const
  return {
    time: iso(nowMs),
    since: iso(startMs - 5_400_000),
    sources: [
      {
        name: 'line_plc',
        kind: 'opcua',
        state: 'connected',
        trouble: null,
        clock_offset_ms: -84,
        stale_after_seconds: 10,
      },
      {
        name: 'hall_broker',
        kind: 'mqtt',
        state: 'lost',
        trouble:
          'hall_broker (mqtt://127.0.0.1:1883) does not answer: look whether the broker runs and the cable is in.',
        clock_offset_ms: null,
        stale_after_seconds: 10,
      },
    ],
    tags: [
      tag('line_plc', 'ns=2;s=Line.Speed', { uses: [press('line_speed', 299.8, 'm/min')] }),
      tag('line_plc', 'ns=2;s=Unwind.Diameter', { uses: [press('roll_diameter', 412.6, 'mm')] }),
      tag('line_plc', 'ns=2;s=Festoon.Position', {
        uses: [press('buffer_stored', 7.5, 'm', { tag_unit: '%', raw: 25 })],
      }),
      tag('line_plc', 'ns=2;s=Unwind.Status', {
        age_seconds: 71,
        reports_per_minute: 2,
        uses: [
          press('new_roll_ready', false, '', { raw: 9, bit: 5 }),
          press('splicer_auto', true, '', { raw: 9, bit: 2, inverted: true }),
        ],
      }),
      tag('line_plc', 'ns=2;s=Unwind.Side', {
        age_seconds: 190,
        reports_per_minute: 0,
        uses: [press('active_spindle', 'A', '', { raw: 1 })],
      }),
      tag('line_plc', 'ns=2;s=Web.Tension', {
        quality: 'uncertain',
        gaps: 3,
        longest_gap_seconds: 42,
        last_gap: iso(startMs - 900_000),
        uses: [
          use('label_press', 'tension', {
            value: 212,
            unit: 'N',
            tag_unit: 'N',
            raw: 5861,
            scaled: 212,
            ignored: 4,
            refused: 'NaN',
          }),
        ],
      }),
      tag('line_plc', 'ns=2;s=Laminator.Speed', {
        stated_unit: 'm/min',
        uses: [use('laminator_inner', 'line_speed', { value: 180, unit: 'm/min', tag_unit: 'ft/min', raw: 590.55 })],
      }),
      tag('hall_broker', 'sack/line#speed', {
        ...lost,
        uses: [use('sack_line', 'line_speed', { unit: 'm/min', tag_unit: 'm/min', stale: true })],
      }),
      tag('hall_broker', 'sack/roll#diameter', {
        ...lost,
        uses: [use('sack_line', 'roll_diameter', { unit: 'mm', tag_unit: 'mm', stale: true })],
      }),
    ],
  }
}

/** A tag whose unit the server contradicts. */
export function withWrongUnit(view: ConsistencyView): ConsistencyView {
  const address = 'ns=2;s=Laminator.Speed'
  const tag = { key: 'consistency.tag', parameters: { signal: 'line_speed', address } }
  const words = { key: 'consistency.stated_unit', parameters: { tag, stated: 'm/min', configured: 'ft/min' } }
  const finding: ConsistencyView['findings'][number] = {
    id: 'line_speed.stated_unit',
    severity: 'wrong',
    signals: ['line_speed'],
    addresses: [address],
    factor: 0.3048,
    sd: null,
    looks_like: 'm/min as ft/min',
    together: [],
    alternatives: [],
    evidence: [],
    text: createMessages('en')(words.key, words.parameters),
    words: [words],
  }
  return { ...view, verdict: 'disagree', findings: [finding] }
}
