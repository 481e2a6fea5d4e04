/** Which words stand in which row of a lane, and what gives way where there is no room. */
import { describe, expect, it } from 'vitest'
import { instructionFor } from '../../dashboard/wall/instruction.ts'
import { laneItems } from '../../dashboard/wall/lane-items.ts'
import { type Item, planRow, type WidthOf } from '../../dashboard/wall/row-plan.ts'
import type { AlarmView, UnwindView } from '../../edge/api/messages.ts'
import { alarmView } from '../support/alarm-view.ts'
import { calmLanes } from '../support/calm-lanes.ts'
import { labelPress } from '../support/stand-in-views.ts'

const T_MS = Date.parse('2026-03-02T06:00:00Z')
const [, lane] = calmLanes(2)([labelPress({ tMs: T_MS, atS: 0, round: 0 })]) as [UnwindView, UnwindView]

const alarm = (id: AlarmView['alarm'], short: string, fields: Partial<AlarmView> = {}): AlarmView =>
  alarmView({ id, unwind: lane.unwind, alarm: id, raised: lane.time, text: short, short, ...fields })

const said = (fields: Partial<UnwindView>, note?: 'line_slowed') => {
  const view = { ...lane, ...fields }
  const shown = view.seconds_to_splice === null ? undefined : { seconds: view.seconds_to_splice, note }
  const instruction = instructionFor(view)
  const { top, verb, facts, far } = laneItems({
    view,
    instruction,
    icon: 'ring',
    shown,
    serverTMs: T_MS,
    zone: 'UTC',
  })
  const words = (items: readonly Item[]) => items.map(({ text }) => text)
  return { top: words(top), verb: verb.text, facts: words(facts), far: words(far) }
}
const ready = {
  new_roll_ready: true,
  preparation: { stages: [], ready: true, left_seconds: 240, least_seconds: 190, missing: null },
}

describe('the words of a lane', () => {
  it('say in a calm one what to do, the first missing link and the festoon, and from afar when and which roll', () => {
    expect(said({})).toEqual({
      top: [],
      verb: 'Load next roll',
      facts: ['not loaded', 'Festoon OK'],
      far: ['ready by 06:41', 'splice 06:43', 'Film 38', '330 mm', 'staged'],
    })
    expect(said(ready)).toMatchObject({ verb: 'Ready', facts: ['Festoon OK'] })
  })

  it('keep ready and festoon in words whatever alarm stands or is over', () => {
    const over = { state: 'returned_unacknowledged', cleared: lane.time } as const
    expect(said({ ...ready, alarms: [alarm('splice_failed', 'Splice failed: web break', over)] })).toMatchObject({
      top: ['was: Splice failed'],
      verb: 'Ready',
      facts: ['Festoon OK'],
    })
    expect(said({ alarms: [alarm('splice_failed', 'Splice failed: web break', over)] })).toMatchObject({
      top: ['was: Splice failed'],
      verb: 'Load next roll',
      facts: ['not loaded', 'Festoon OK'],
    })
    expect(said({ ...ready, alarms: [alarm('splice_overdue', 'Splice overdue')] })).toMatchObject({
      top: ['Splice overdue'],
      facts: ['roll ready', 'Festoon OK'],
    })
  })

  it('call no roll ready beside an order to stop the line, but beside one to thread it', () => {
    const broken = alarm('web_break', 'Web break')
    expect(said({ ...ready, alarms: [broken] })).toMatchObject({ verb: 'Stop line, clear web', facts: ['Festoon OK'] })
    expect(said({ ...ready, state: 'standing', buffer_margin: null, alarms: [broken] }).facts).toEqual(['roll ready'])
  })

  it('say until when an overdue roll lasts, and the next mark inside the roll', () => {
    const view = { ...lane, ...ready, next_flag: { metres: 1500, seconds: 305 } }
    const shown = { seconds: 25, note: undefined, isToCore: true }
    const items = laneItems({
      view,
      instruction: instructionFor(view),
      icon: 'ring',
      shown,
      serverTMs: T_MS,
      zone: 'UTC',
    })
    expect(items.top.map(({ text }) => text)).toEqual(['core in 25 s'])
    expect(items.facts.map(({ text, rank }) => [text, rank])).toContainEqual(['mark in 5:00 min', 1])
  })

  it('warn of a mark beside the name from 75 s on, and not twice', () => {
    const at = (seconds: number) => said({ ...ready, next_flag: { metres: 5 * seconds, seconds } })
    expect(at(75)).toMatchObject({ top: ['mark in 1:15 min'], facts: ['Festoon OK'] })
    expect(at(76)).toMatchObject({ top: [], facts: ['Festoon OK', 'mark in 1:16 min'] })
  })

  it('say nothing twice: neither the missing roll, nor the short festoon, nor a speed', () => {
    const short = { buffer_margin: -2, safe_speed: 244 }
    expect(said({ alarms: [alarm('roll_not_ready', 'Next roll not ready: slow to 165 m/min')] })).toMatchObject({
      top: [],
      verb: 'Slow to 165 m/min or stop',
      facts: ['not loaded', 'Festoon OK'],
    })
    expect(said({ ...short, alarms: [alarm('buffer_short', 'Festoon short: slow to 240 m/min')] })).toMatchObject({
      top: [],
      facts: ['not loaded', 'Festoon short'],
    })
    expect(said(short).facts).toEqual(['not loaded', 'Festoon short: 240 m/min or less'])
  })

  it('call no festoon OK that does not fill, once', () => {
    const { top, facts } = said({ alarms: [alarm('buffer_not_filling', 'Festoon not filling')] })
    expect([...top, ...facts].filter((text) => text.startsWith('Festoon'))).toEqual(['Festoon not filling'])
    // In a low voice: what is stored carries the splice as it is.
    const calm = said({ alarms: [alarm('buffer_not_filling', 'Festoon not filling', { priority: 'low' })] })
    expect(calm.facts).toContain('Festoon OK')
  })

  it('name further alarms, and why the time went up beside it', () => {
    const two = [alarm('splice_overdue', 'Splice overdue'), alarm('speeds_disagree', 'Speeds disagree')]
    expect(said({ alarms: two }, 'line_slowed').top).toEqual(['line slowed', 'Splice overdue', 'also: Speeds disagree'])
  })

  it('say about where the interval is wide beside the time, and no word says why already', () => {
    const wide = { seconds_to_splice: 150, seconds_low: 120, seconds_high: 180 }
    expect(said({ ...ready, ...wide }).top).toEqual(['about'])
    expect(said({ ...ready, ...wide, seconds_low: 135, seconds_high: 170 }).top).toEqual([])
    expect(said({ ...ready, ...wide }, 'line_slowed').top).toEqual(['line slowed'])
  })

  it('ask for no roll while one is being spliced', () => {
    expect(said({ state: 'splicing', seconds_to_splice: null })).toMatchObject({
      verb: 'Splicing',
      facts: ['Festoon OK'],
      far: [],
    })
  })
})

describe('a row', () => {
  /** Each letter half as wide as high, a tenth more in bold. */
  const widthOf: WidthOf = (text, fontPx, isBold) => text.length * fontPx * (isBold ? 0.6 : 0.5)
  const fonts = { bigPx: 100, midPx: 80 }
  const item = (part: string, text: string, rank: Item['rank'], more: Partial<Item> = {}): Item => ({
    part,
    text,
    rank,
    ...more,
  })
  const plan = (items: Item[], roomPx: number, turn = 0) => planRow(items, roomPx, turn, fonts, widthOf)
  const parts = (items: Item[], roomPx: number, turn = 0) => plan(items, roomPx, turn).items.map(({ part }) => part)
  const name = item('name', 'Label press', 0, { isBig: true, isBold: true, isLead: true })
  const fact = item('fact', 'not loaded', 0, { isBig: true, isBold: true })

  it('is drawn as it is where it fits', () => {
    expect(plan([name, fact], 2000)).toMatchObject({
      scale: 1,
      items: [
        { fontPx: 100, isBold: true },
        { fontPx: 100, isBold: true },
      ],
    })
  })

  it('gives up weight, then the height of facts, then narrows, and keeps what it is about longest', () => {
    // 660 and 600 px in bold with a gap of 40; without weight the fact has 500, at the lesser height 400.
    const at = (roomPx: number) => plan([name, fact], roomPx)
    expect(at(960).items).toMatchObject([{ isBold: true }, { isBold: true }])
    expect(at(900).items).toMatchObject([
      { isBold: true, fontPx: 100 },
      { isBold: false, fontPx: 100 },
    ])
    expect(at(720).items).toMatchObject([
      { isBold: true, fontPx: 100 },
      { isBold: false, fontPx: 80 },
    ])
    expect(at(600).items).toMatchObject([
      { isBold: false, fontPx: 100 },
      { isBold: false, fontPx: 80 },
    ])
    expect(at(600).scale).toBeGreaterThanOrEqual(0.58)
  })

  it('lets what decides nothing take turns, each with as many others as fit, and all at one width', () => {
    const far = ['splice 14:37', 'ready by 14:32', 'staged'].map((text) => item(text, text, 2))
    const items = [name, fact, ...far]
    const room = 1000
    const turns = [0, 1, 2, 3].map((turn) => parts(items, room, turn))
    expect(turns.every((shown) => shown.includes('name') && shown.includes('fact'))).toBe(true)
    expect(new Set(turns.flat())).toEqual(new Set(['name', 'fact', 'splice 14:37', 'ready by 14:32', 'staged']))
    expect(turns[0]).not.toEqual(turns[1])
    expect(new Set([0, 1, 2, 3].map((turn) => plan(items, room, turn).scale)).size).toBe(1)
    expect(parts(items, 4000)).toHaveLength(5)
  })

  it('says a long text in two halves in its place before something else leaves', () => {
    const long = item('wrong', 'Splicer not in automatic', 0, { halves: ['Splicer not …', '… in automatic'] })
    const texts = [0, 1].map((turn) => plan([name, long], 620, turn).items.map(({ text }) => text))
    expect(texts).toEqual([
      ['Label press', 'Splicer not …'],
      ['Label press', '… in automatic'],
    ])
  })

  it('says both halves of each text that takes turns, and never two of them torn beside each other', () => {
    const also = [
      ['also: Speeds …', '… disagree'],
      ['was: Splice …', '… failed'],
    ].map((halves) => item(halves[0]!, halves.join(' ').replaceAll(' … …', ''), 2, { halves }))
    const turns = [0, 1, 2, 3].map((turn) => plan([name, ...also], 700, turn).items.map(({ text }) => text))
    expect(turns).toEqual([
      ['Label press', 'also: Speeds …'],
      ['Label press', 'was: Splice …'],
      ['Label press', '… disagree'],
      ['Label press', '… failed'],
    ])
  })

  it('keeps the first and lets the rest take turns where nothing else helps', () => {
    const turns = [0, 1].map((turn) => parts([name, fact, item('festoon', 'Festoon OK', 0)], 500, turn))
    // 550, 400 and 400 px with gaps of 40: more than half too much.
    expect(turns).toEqual([
      ['name', 'fact'],
      ['name', 'festoon'],
    ])
  })
})
