/** Words and places of the pages of trends and reports. */
import { describe, expect, it } from 'vitest'
import { lengthInWords, reportInWords } from '../../dashboard/report/report-words.ts'
import { restOf } from '../../dashboard/report/rest-row.ts'
import { isChosen, presetsAt, shiftsAt, spanIn, spanOf, spanQuery } from '../../dashboard/report/span.ts'
import { answerOf, metricInWords, tickFigures, trendInWords } from '../../dashboard/trends/figures.ts'
import { settingOften } from '../../dashboard/trends/log-words.ts'
import { countInWords } from '../../dashboard/trends/services.tsx'
import { geometryOf, markLabels, marksOf, PLOT, roundTicks, smoothed } from '../../dashboard/trends/trend-geometry.ts'
import type {
  LogEntry,
  ReportView,
  ServiceView,
  TrendChartView,
  TrendsView,
  TrendView,
} from '../../edge/trend-views.ts'

const trend = {
  metric: 'stop',
  side: null,
  kind: 'drift',
  usual: 1.1,
  newest: 1.234,
  splices: 84,
  unit: 's',
} as TrendView

describe("a scale's figures", () => {
  it('never read the same twice', () => {
    expect(tickFigures('low_point', [7.75, 7.8, 7.85])).toEqual(['7.75', '7.80', '7.85'])
    expect(tickFigures('low_point', [7, 8])).toEqual(['7.0', '8.0'])
    expect(tickFigures('stop', [0.086_99, 0.087, 0.087_01])).toEqual(['0.08699', '0.08700', '0.08701'])
  })
})

describe('a trend', () => {
  it('is told in a sentence, with its side where only one drifts', () => {
    expect(trendInWords(trend)).toBe('Stop length grew from 1.10 s to 1.23 s; it took 84 splices to tell.')
    expect(trendInWords({ ...trend, side: 'B', newest: 1 })).toBe(
      'Stop length of B fell from 1.10 s to 1.00 s; it took 84 splices to tell.',
    )
    expect(trendInWords({ ...trend, kind: 'step' })).toBe('Stop length went from 1.10 s to 1.23 s at once.')
    expect(metricInWords('low_point', null)).toBe('–')
  })

  it('answers the page’s question, also where it is too early', () => {
    const view = { standing: [trend], splices: 400, needed: 60 } as TrendsView
    expect(answerOf(view, 'Press')).toContain('yes')
    expect(answerOf({ ...view, standing: [] }, 'Press')).toContain('Nothing has left what is usual in the last 400')
    expect(answerOf({ ...view, standing: [], splices: 12 }, 'Press')).toContain('12 of the 60')
  })
})

describe('what was changed', () => {
  it('is counted in words that suit one splice too', () => {
    const service = { last: {}, splices: 1, failures: 0, limit: null } as ServiceView
    expect(countInWords(service)).toBe('1 splice ago; failed: 0.')
    expect(countInWords({ ...service, splices: 2 })).toBe('2 splices ago, 0 of them failed.')
  })
})

describe('a small chart', () => {
  const points = [1, 1.1, 0.9, 40, 1].map((adjusted, i) => ({
    id: `s${i}`,
    time: `2026-03-02T0${i}:00:00.000Z`,
    side: '',
    value: adjusted,
    adjusted,
  }))
  const chart: TrendChartView = { metric: 'stop', unit: 's', usual: 1, low: 0.8, high: 1.2, points }

  it('shows what is usual, and one far out at its edge', () => {
    const { x, y, ticks } = geometryOf(chart)
    expect([x(0), x(4)]).toEqual([PLOT.left, PLOT.right])
    expect(y(40)).toBe(PLOT.top)
    expect(y(1.2)).toBeGreaterThan(PLOT.top)
    expect(y(0.8)).toBeLessThan(PLOT.bottom)
    expect(ticks.length).toBeGreaterThan(1)
  })

  it('spans no less than a tenth of its value: noise stays small', () => {
    const points = chart.points.map((point, i) => ({ ...point, adjusted: 0.0524 + (i % 2) * 1e-4 }))
    const { y } = geometryOf({ ...chart, points, low: 0.0523, high: 0.0526, usual: 0.0524 })
    expect(y(0.0524) - y(0.0525)).toBeLessThan(0.03 * (PLOT.bottom - PLOT.top))
    expect(y(0.0524)).toBeLessThan(PLOT.bottom)
  })

  it('has round ticks, and a line that one odd splice does not move', () => {
    expect(roundTicks(0.93, 1.31)).toEqual([1, 1.1, 1.2, 1.3])
    expect(smoothed([1, 1, 1, 40, 1, 1])).toEqual([1, 1, 1, 1, 1, 1])
  })

  it('has a letter for each thing that people did, where the next splice is', () => {
    const entry = (kind: LogEntry['kind'], time: string) =>
      ({ id: `${kind}${time}`, kind, time, taken_back: null }) as LogEntry
    const marks = marksOf(
      [
        entry('service', '2026-03-02T02:30:00.000Z'),
        entry('trend', '2026-03-02T02:40:00.000Z'),
        entry('setting', '2026-03-02T00:30:00.000Z'),
        {
          ...entry('service', '2026-03-02T00:40:00.000Z'),
          taken_back: { time: '2026-03-02T00:50:00.000Z', person: 'Ada' },
        },
        entry('setting', '2026-03-03T00:00:00.000Z'),
      ],
      points.map(({ time }) => time),
    )
    expect(marks.map(({ letter, index }) => [letter, index])).toEqual([
      ['a', 1],
      ['b', 3],
      ['c', 5],
    ])
  })
})

describe('a setting that went to and fro', () => {
  const stepsOf = (values: readonly number[]): LogEntry[] =>
    values
      .slice(1)
      .map((to, i) => ({ kind: 'setting', subject: 'splice_diameter', from: values[i]!, to, unit: 'mm' }) as LogEntry)
      .reverse()

  it('is told step by step, and by its range where there were many', () => {
    expect(settingOften(stepsOf([240, 208.5, 240]))).toMatch(/ set 2 times: 240\.00 → 208\.50 → 240\.00 mm$/)
    expect(settingOften(stepsOf([240, 210, 250, 205, 230, 220, 240, 245]))).toMatch(
      / now 245 mm \(240 at first\), set 7 times between 205 and 250$/,
    )
    expect(settingOften(stepsOf([240, 210, 250, 205, 230, 220, 250, 240]))).toMatch(/ set 7 times and back at 240 mm$/)
  })
})

describe('a report', () => {
  const report = {
    counts: {
      splices: 412,
      good: 405,
      success: { share: 0.983, low: 0.965, high: 0.992 },
      lost_seconds: 7800,
      waste: 1240,
    },
    open: 0,
    waste_kilograms: 93,
    waste_cost: 111.6,
    currency: 'EUR',
    between_failures: 59,
    failure_trend: 2.1,
  } as ReportView

  it('answers first, then says what it cost and whether failures come faster', () => {
    expect(reportInWords(report)).toEqual([
      '405 of 412 splices were good: 98.3 % (95 % interval 96.5 to 99.2 %).',
      'For the others 2 h 10 min were lost; all together left 1240 m of waste.',
      'That is 93 kg, 112 EUR.',
      '7 of 412 failed or were missed.',
      'Failures came ever closer together towards the end, more than by chance.',
    ])
    expect(reportInWords({ ...report, waste_cost: null, failure_trend: 0.4 }).slice(2)).toEqual([
      'That is 93 kg.',
      '7 of 412 failed or were missed.',
    ])
    expect(reportInWords({ ...report, counts: { ...report.counts, success: null } })).toHaveLength(1)
    expect([59, 99, 3600].map(lengthInWords)).toEqual(['59 s', '1 min 39 s', '1 h 0 min'])
  })

  it('has a span that its address keeps', () => {
    const span = spanOf('shift', Date.UTC(2026, 2, 2, 13, 20))
    expect(span).toEqual({ fromTMs: Date.UTC(2026, 2, 2, 5, 20), toTMs: Date.UTC(2026, 2, 2, 13, 20) })
    expect(spanIn(spanQuery(span, 'press'))).toEqual(span)
    expect(spanIn('from=yesterday')).toBeUndefined()
  })
})

it('a report has a row for what no group of it holds', () => {
  const counts = { splices: 9, good: 7, failed: 1, missed: 1, aborted: 0, success: null, lost_seconds: 90, waste: 20 }
  const rows = [
    { ...counts, splices: 5, good: 4, missed: 0, lost_seconds: null, waste: 8 },
    { ...counts, splices: 3, good: 3, failed: 0, missed: 0, lost_seconds: 30, waste: 7 },
  ]
  expect(restOf(counts, rows)).toEqual({ ...counts, splices: 1, good: 0, failed: 0, lost_seconds: 60, waste: 5 })
  expect(restOf({ ...counts, splices: 8 }, rows)).toBeUndefined()
})

describe('ready-made spans', () => {
  it('show which one is chosen, a while later too', () => {
    const nowTMs = Date.UTC(2026, 2, 2, 0, 50)
    const day = spanOf('day', nowTMs)
    expect(isChosen(spanOf('day', nowTMs + 20 * 60_000), day)).toBe(true)
    expect(isChosen(spanOf('day', nowTMs + 60 * 60_000), day)).toBe(false)
    expect(isChosen(spanOf('week', nowTMs), day)).toBe(false)
  })

  const SHIFTS = ['06:00', '14:00', '22:00']
  const spans = (iso: string, shifts = SHIFTS) => {
    const at = shiftsAt(Date.parse(iso), shifts, 'Europe/Berlin')!
    const iso16 = (tMs: number) => new Date(tMs).toISOString().slice(0, 16)
    return [at.last, at.present].map(({ fromTMs, toTMs }) => `${iso16(fromTMs)} ${iso16(toTMs)}`)
  }

  it('are the shift that runs and the one before, from beginning to end', () => {
    expect(spans('2026-03-02T13:20:00Z')).toEqual([
      '2026-03-02T05:00 2026-03-02T13:00',
      '2026-03-02T13:00 2026-03-02T21:00',
    ])
    expect(spans('2026-03-02T13:00:00Z')[1]).toBe('2026-03-02T13:00 2026-03-02T21:00')
    expect(spans('2026-03-02T23:00:00Z')[1]).toBe('2026-03-02T21:00 2026-03-03T05:00')
    expect(spans('2026-03-02T12:00:00Z', ['05:50'])[1]).toBe('2026-03-02T04:50 2026-03-03T04:50')
  })

  it('are an hour shorter where the clocks go forward', () => {
    expect(spans('2026-03-28T23:00:00Z')[1]).toBe('2026-03-28T21:00 2026-03-29T04:00')
    expect(spans('2026-10-24T23:00:00Z')[1]).toBe('2026-10-24T20:00 2026-10-25T05:00')
  })

  it('are eight hours where a site has no shifts', () => {
    const names = (shifts: string[]) =>
      presetsAt(Date.UTC(2026, 2, 2, 13), shifts, 'Europe/Berlin').map(({ name }) => name)
    expect(names(SHIFTS)).toEqual(['present_shift', 'last_shift', 'day', 'week'])
    expect(names([])).toEqual(['shift', 'day', 'week'])
  })
})

describe('letters of marks', () => {
  const x = (index: number): number => PLOT.left + index
  const at = (...indices: number[]) =>
    markLabels(
      indices.map((index, i) => ({ letter: String.fromCharCode(97 + i), index })),
      x,
    )

  it('stand over their marks where there is room, and as one label from first to last where there is none', () => {
    expect(at(40, 100, 160)).toEqual([
      { text: 'a', x: x(40) },
      { text: 'b', x: x(100) },
      { text: 'c', x: x(160) },
    ])
    expect(at(40, 100, 103, 103, 300).map(({ text }) => text)).toEqual(['a', 'b–d', 'e'])
  })

  it('never lie over each other nor leave the plot, however many there are', () => {
    for (let seed = 1; seed <= 20; seed++) {
      // Golden-ratio steps: repeatable, and dense in places.
      const indices = Array.from({ length: 3 * seed }, (_, i) =>
        Math.floor(386 * ((i * seed * 0.618_033_988_75) % 1) ** 2),
      )
      const labels = at(...indices.sort((a, b) => a - b))
      const halves = labels.map(({ text }) => (text.length * 8) / 2)
      for (const [i, label] of labels.entries()) {
        expect(label.x - halves[i]!).toBeGreaterThanOrEqual(0)
        expect(label.x + halves[i]!).toBeLessThanOrEqual(440)
        if (i > 0) expect(label.x - labels[i - 1]!.x).toBeGreaterThanOrEqual(halves[i]! + halves[i - 1]!)
      }
    }
  })
})
