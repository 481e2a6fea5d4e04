import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, test } from 'vitest'
import type { Clock } from '../../edge/clock.ts'
import type { Sample } from '../../edge/sample.ts'
import { Backoff } from '../../edge/sources/backoff.ts'
import { MessageOrder } from '../../edge/sources/message-order.ts'
import { clientIdOf } from '../../edge/sources/mqtt-connect.ts'
import { severity } from '../../edge/sources/opcua-subscription.ts'
import { OperatorSource } from '../../edge/sources/operator.ts'
import { TagBook } from '../../edge/sources/tag-book.ts'
import { Watchdog } from '../../edge/sources/watchdog.ts'

class HandClock implements Clock {
  tMs = 1_000_000
  run: () => void = () => undefined
  nowMs(): number {
    return this.tMs
  }
  every(_everyMs: number, run: () => void): () => void {
    this.run = run
    return () => {
      this.run = () => undefined
    }
  }
  pass(ms: number, stepMs: number): void {
    for (let passed = 0; passed < ms; passed += stepMs) {
      this.tMs += stepMs
      this.run()
    }
  }
}

describe('back-off', () => {
  test('doubles from the first delay to the longest, and starts again after a success', () => {
    const backoff = new Backoff({ firstMs: 250, mostMs: 2000, spread: 0.2, random: () => 0.5 })
    expect([1, 2, 3, 4, 5].map(() => backoff.next())).toEqual([250, 500, 1000, 2000, 2000])
    backoff.reset()
    expect(backoff.next()).toBe(250)
    for (let index = 0; index < 5000; index += 1) expect(backoff.next()).toBeLessThanOrEqual(2000)
  })
})

describe('watchdog', () => {
  test('speaks once, within 1.5 times the keep-alive, and not before 1.2 times', () => {
    const clock = new HandClock()
    let silentAtMs = 0
    let spoken = 0
    const watchdog = new Watchdog(clock, 2, () => {
      silentAtMs = clock.tMs
      spoken += 1
    })
    watchdog.start()
    clock.pass(10_000, 100)
    expect(spoken).toBe(0)
    watchdog.proof(clock.tMs)
    const proofMs = clock.tMs
    clock.pass(10_000, 100)
    expect(spoken).toBe(1)
    expect(silentAtMs - proofMs).toBeLessThanOrEqual(3000)
    expect(silentAtMs - proofMs).toBeGreaterThan(2400)
    watchdog.stop()
  })

  test('gives grace where this process itself stood still', () => {
    const clock = new HandClock()
    let spoken = 0
    const watchdog = new Watchdog(clock, 2, () => {
      spoken += 1
    })
    watchdog.start()
    watchdog.proof(clock.tMs)
    clock.pass(60_000, 60_000)
    expect(spoken).toBe(0)
    clock.pass(3000, 100)
    expect(spoken).toBe(1)
  })
})

describe('tag book', () => {
  const tag = { source: 'plc', address: 'ns=1;s=A', valuePath: undefined, timePath: undefined }
  const start = () => {
    const samples: Sample[] = []
    const book = new TagBook('plc', [tag, { ...tag, valuePath: '[1]' }, tag], (sample) => samples.push(sample))
    return { samples, book, entry: book.entries[0]! }
  }

  test('knows every tag once, by the name that a recording has', () => {
    expect(start().book.entries.map((entry) => entry.address)).toEqual(['ns=1;s=A', 'ns=1;s=A#[1]'])
  })

  test('a loss is one bad sample for every tag; the return gives back what holds', () => {
    const { samples, book, entry } = start()
    book.deliver(entry, 5, 'good', 1000, 1010)
    book.loseAll(4000)
    expect(samples.slice(1)).toMatchObject([
      { address: 'ns=1;s=A', value: undefined, quality: 'bad', tMs: 4000 },
      { address: 'ns=1;s=A#[1]', value: undefined, quality: 'bad', tMs: 4000 },
    ])
    book.redeliver(6000)
    expect(samples.slice(3)).toMatchObject([{ address: 'ns=1;s=A', value: 5, quality: 'good', tMs: 6000 }])
    book.redeliver(7000)
    expect(samples).toHaveLength(4)
  })

  test('what comes late is history with its own time; the newest of it holds after the return', () => {
    const { samples, book, entry } = start()
    book.deliver(entry, 5, 'good', 1000, 1010)
    book.loseAll(4000)
    book.deliver(entry, 6, 'good', 2000, 6000)
    book.redeliver(6500)
    expect(samples.filter((sample) => sample.address === 'ns=1;s=A').map(({ value, tMs }) => [value, tMs])).toEqual([
      [5, 1000],
      [undefined, 4000],
      [6, 2000],
      [6, 6500],
    ])
  })

  test('a late value never replaces a newer one', () => {
    const { samples, book, entry } = start()
    book.deliver(entry, 7, 'good', 3000, 3010)
    book.deliver(entry, 6, 'good', 2000, 3020)
    book.loseAll(4000)
    book.redeliver(6000)
    expect(samples.at(-1)).toMatchObject({ value: 7, tMs: 6000 })
  })

  test('a value that goes bad with an old stamp goes bad now', () => {
    const { samples, book, entry } = start()
    book.deliver(entry, 5, 'good', 1000, 1010)
    book.deliverBad(entry, 1000, 9000, 'The sensor failed.')
    expect(samples.at(-1)).toMatchObject({ quality: 'bad', tMs: 9000, value: undefined })
    expect(book.health()[0]).toMatchObject({ quality: 'bad', trouble: 'The sensor failed.', lastValue: undefined })
    book.deliver(entry, 5, 'uncertain', 1000, 9500)
    expect(samples.at(-1)).toMatchObject({ quality: 'uncertain', tMs: 9500, value: 5 })
    expect(book.health()[0]?.trouble).toBeUndefined()
  })

  test('what is ignored is counted and changes nothing', () => {
    const { samples, book, entry } = start()
    book.ignore(entry, 'It is empty.')
    expect(samples).toEqual([])
    expect(book.health()[0]).toMatchObject({ ignored: 1, trouble: 'It is empty.', samples: 0, quality: undefined })
  })
})

describe('message order', () => {
  test('names what is missing before a message, once, and knows repetitions', () => {
    const order = new MessageOrder()
    expect(order.note(40)).toEqual({ isNew: true, missing: [] })
    expect(order.note(41)).toEqual({ isNew: true, missing: [] })
    // A live message overtakes those that are being sent again.
    expect(order.note(45)).toEqual({ isNew: true, missing: [42, 43, 44] })
    expect(order.note(42)).toEqual({ isNew: true, missing: [] })
    expect(order.note(42)).toEqual({ isNew: false, missing: [] })
    expect(order.note(46)).toEqual({ isNew: true, missing: [] })
    expect([43, 44, 45].map((each) => order.has(each))).toEqual([false, false, true])
  })

  test('never asks for more than a server keeps', () => {
    const order = new MessageOrder()
    order.note(1)
    expect(order.note(1_000_000).missing).toHaveLength(200)
  })
})

describe('operator', () => {
  test('what people enter are samples with time and person', async () => {
    const clock = new HandClock()
    const source = new OperatorSource(clock)
    const samples: Sample[] = []
    const states: string[] = []
    await source.start({
      sample: (sample) => samples.push(sample),
      alive: () => undefined,
      state: (_, h) => states.push(h.state),
    })
    source.ready('label_press', true, 'Mika')
    source.acknowledge('label_press', 'roll_not_ready', 'Mika', 'roll is coming')
    expect(states).toEqual(['connected'])
    expect(samples).toEqual([
      {
        source: 'operator',
        address: 'ready/label_press',
        value: true,
        quality: 'good',
        tMs: 1_000_000,
        arrivalTMs: 1_000_000,
        person: 'Mika',
      },
      {
        source: 'operator',
        address: 'acknowledge/label_press/roll_not_ready',
        value: 'roll is coming',
        quality: 'good',
        tMs: 1_000_000,
        arrivalTMs: 1_000_000,
        person: 'Mika',
      },
    ])
  })
})

describe('standards', () => {
  // OPC 10000-4 §7.38: severity in the two top bits; 0x00000480 is Good with the Overflow info bits.
  test.each([
    [0x00000000, 'good'],
    [0x00000480, 'good'],
    [0x40000000, 'uncertain'],
    [0x40900000, 'uncertain'],
    [0x80340000, 'bad'],
    [0x80000000, 'bad'],
  ] as const)('status %i is %s', (value, quality) => {
    expect(severity({ value })).toBe(quality)
  })

  // MQTT 3.1.1 §3.1.3.1: 1 to 23 characters out of 0-9a-zA-Z are taken by every broker.
  test('a derived client id fits every broker and stays the same', () => {
    const id = clientIdOf({ name: 'hall_broker', clientId: undefined }, 'f00d')
    expect(id).toMatch(/^[0-9a-zA-Z]{1,23}$/)
    expect(clientIdOf({ name: 'hall_broker', clientId: undefined }, 'f00d')).toBe(id)
    expect(clientIdOf({ name: 'other', clientId: undefined }, 'f00d')).not.toBe(id)
    expect(clientIdOf({ name: 'other', clientId: 'mine' }, 'f00d')).toBe('mine')
  })
})

test('sources only read: no call that writes to a PLC or publishes to a broker', () => {
  const folder = join(import.meta.dirname, '../../edge/sources')
  // What unpacks a recording hands its bytes to the unzip: no PLC is near.
  const files = readdirSync(folder).filter((name) => name.endsWith('.ts') && name !== 'recording-bytes.ts')
  expect(files.length).toBeGreaterThan(15)
  for (const name of files) {
    const code = readFileSync(join(folder, name), 'utf8')
    expect(code, name).not.toMatch(
      /\.(write|writeSingleNode|writeAsync|call|historyUpdate|publish|publishAsync|setPublishingMode)\(/,
    )
  }
})
