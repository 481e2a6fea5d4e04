/** What people enter: taken, taken back, true of the running roll after the change, the same after a restart. */
import { describe, expect, test } from 'vitest'
import { jobNeeds, rollFaults, uncheckedNeeds } from '../../edge/advice/wrong-roll.ts'
import { entryAddresses } from '../../edge/entries.ts'
import type { RawValue, Sample } from '../../edge/sample.ts'
import { Entered } from '../../edge/signals/entered.ts'

const START = 1_772_431_200_000

const enter = (entered: Entered, address: string, value: RawValue, atS = 0, webM = 0): boolean => {
  const tMs = START + 1000 * atS
  const sample: Sample = { source: 'operator', address, value, quality: 'good', tMs, arrivalTMs: tMs, person: 'Mika' }
  return entered.accept(sample, webM)
}

describe('entries', () => {
  test('a stage that is done takes the earlier ones with it, and one that is taken back the later ones', () => {
    const entered = new Entered('press')
    expect(entered.usesStages).toBe(false)
    enter(entered, 'stage/press/fetch', true, 10)
    enter(entered, 'stage/press/splice_prep', 'true', 70)
    expect(entered.stages).toEqual({ fetch: START + 10_000, load: START + 70_000, splice_prep: START + 70_000 })
    enter(entered, 'stage/press/load', 'false', 80)
    expect(entered.stages).toEqual({ fetch: START + 10_000 })
    expect(entered.usesStages).toBe(true)
  })

  test('what was said of the waiting roll is true of the running one after the change', () => {
    const entered = new Entered('press')
    enter(entered, 'ready/press', true)
    enter(entered, 'stage/press/load', true)
    enter(entered, 'waiting/press/roll_id', 'R-17')
    enter(entered, 'waiting/press/material', 4711)
    enter(entered, 'waiting/press/diameter', '1250')
    enter(entered, 'waiting/press/hold', true)
    expect(entered.waiting).toMatchObject({ rollId: 'R-17', material: '4711', diameterM: 1.25, isOnHold: true })
    entered.rollChanged()
    expect(entered.running).toMatchObject({ rollId: 'R-17', material: '4711', person: 'Mika' })
    expect([entered.waiting, entered.ready, entered.stages]).toEqual([undefined, undefined, {}])
  })

  test('empty takes back, and nothing that is no value gets in', () => {
    const entered = new Entered('press')
    enter(entered, 'waiting/press/width', '1300')
    enter(entered, 'waiting/press/winding', 'sideways')
    enter(entered, 'waiting/press/length', 'long')
    enter(entered, 'waiting/press/diameter', -4)
    expect(entered.waiting).toEqual({ widthM: 1.3, tMs: START, person: 'Mika' })
    enter(entered, 'waiting/press/width', '')
    expect(entered.waiting).toBeUndefined()
  })

  test('the job counts down with the web that the line takes', () => {
    const entered = new Entered('press')
    enter(entered, 'job/press/remaining', 5000, 0, 1200)
    expect(entered.jobRemainingM(1200)).toBe(5000)
    expect(entered.jobRemainingM(2200)).toBe(4000)
    expect(entered.jobRemainingM(9000)).toBe(0)
    enter(entered, 'job/press/remaining', '', 9)
    expect(entered.jobRemainingM(9000)).toBeUndefined()
  })

  test('leaves alone what is of another unwind or of another kind', () => {
    const entered = new Entered('press')
    for (const address of ['ready/coater', 'flag/press', 'acknowledge/press/web_break', 'ready', ''])
      expect(enter(entered, address, true), address).toBe(false)
    expect(entered.ready).toBeUndefined()
  })

  test('a snapshot after any entry changes nothing, as it goes through JSON', () => {
    const straight = new Entered('press')
    let restarted = new Entered('press')
    entryAddresses('press', [])
      .filter((address) => !address.startsWith('flag'))
      .forEach((address, index) => {
        const value = address.endsWith('winding') ? 'in' : 100 + index
        for (const entered of [straight, restarted]) enter(entered, address, value, index, 10 * index)
        const again = new Entered('press')
        again.restore(JSON.parse(JSON.stringify(restarted.snapshot())))
        restarted = again
      })
    expect(restarted.snapshot()).toEqual(straight.snapshot())
  })
})

describe('the roll that the job needs', () => {
  const config = { material: '4711', widthM: 1.3, winding: 'out' as const }
  const roll = (fields: object) => ({ tMs: START, person: 'Mika', ...fields })
  const kinds = (fields: object, material?: string) =>
    rollFaults(jobNeeds(config, undefined, {}), roll(fields), material).map(({ kind }) => kind)

  test('is told from every other one; what nobody said is no fault', () => {
    expect(kinds({})).toEqual([])
    expect(kinds({ widthM: 1.3015, winding: 'out' }, ' 4711 ')).toEqual([])
    expect(kinds({ widthM: 1.28, winding: 'in', isOnHold: true }, '0815')).toEqual([
      'hold',
      'material',
      'width',
      'winding',
    ])
  })

  test('is known however people write the name of its material', () => {
    const needs = { material: 'LP80', widthM: undefined, winding: undefined }
    for (const name of ['lp 80', 'LP-80', ' Lp80 ']) expect(rollFaults(needs, undefined, name)).toEqual([])
    // Between two figures a dash or a gap is part of the name.
    for (const name of ['LP8-0', 'LP8 0']) expect(rollFaults(needs, undefined, name)).toHaveLength(1)
    expect(rollFaults(needs, undefined, 'LP 81')).toMatchObject([{ kind: 'material', needed: 'LP80', found: 'LP 81' }])
  })

  test('is not taken to be the one of whose label nobody could compare it all', () => {
    const unchecked = (fields: object, material?: string, materialWidthM?: number) =>
      uncheckedNeeds(config, roll(fields), material, materialWidthM)
    expect(unchecked({ rollId: 'PET-99' })).toEqual(['material', 'width', 'winding'])
    expect(unchecked({ rollId: 'R-1', winding: 'out' }, '4711', 1.3)).toEqual([])
    expect(unchecked({ widthM: 1.3, winding: 'in' }, '0815')).toEqual([])
    // Where nobody entered a label there is none to look at, and what the job does not ask for needs no look.
    expect(uncheckedNeeds(config, undefined, undefined, undefined)).toEqual([])
    const any = { material: undefined, widthM: undefined, winding: undefined }
    expect(uncheckedNeeds(any, roll({ rollId: 'R-1' }), undefined, undefined)).toEqual([])
  })

  test('is what a person entered, then the material, then the config', () => {
    const materials = { '0815': { widthM: 1.1 } } as never
    expect(jobNeeds(config, roll({ material: '0815' }), materials)).toEqual({
      material: '0815',
      widthM: 1.1,
      winding: 'out',
    })
    expect(jobNeeds(config, roll({ material: '0815', widthM: 0.9 }), materials).widthM).toBe(0.9)
    expect(jobNeeds(config, undefined, materials)).toEqual(config)
  })
})
