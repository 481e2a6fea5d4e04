import { describe, expect, test } from 'vitest'
import type { UnwindConfig } from '../../edge/config/config.ts'
import { adoptSettings } from '../../edge/estimators/learning/settings.ts'
import { type LearnedSplicer, learnedNothing } from '../../edge/estimators/learning/splicer.ts'

type Machine = Pick<UnwindConfig, 'splicer' | 'buffer'>
const machine = (splicer: object = {}, buffer: object = {}): Machine =>
  ({
    splicer: {
      stopS: 1.1,
      decelerationMps2: 2.5,
      accelerationMps2: 1.2,
      overspeed: 0.12,
      spliceSpeedMps: undefined,
      spliceDiameterM: 0.13,
      preparation: { totalS: 240 },
      ...splicer,
    },
    buffer: { runningStoredM: 6, fillStoredM: 24, ...buffer },
  }) as unknown as Machine
const often = (value: number) => [{ value, tMs: 0 }]
function experienced(triggerM = 0.5e-3): LearnedSplicer {
  const learned = learnedNothing()
  adoptSettings(learned, machine())
  return Object.assign(learned, {
    stopS: often(1.3),
    fillStoredM: often(24),
    fillLeadM: often(150),
    fillRateShare: often(0.12),
    refillRatio: often(1),
    triggerM: often(triggerM),
    ramps: [{ tMs: 0, lineMps: 5, lossS: 3, downS: null, load: null }],
    slowDowns: [{ tMs: 0, fromMps: 5, slow: null }],
  })
}
/** Which lists are empty after a start with this config. */
function forgotten(learned: LearnedSplicer, now: Machine): string[] {
  // As it is after a snapshot.
  const kept = JSON.parse(JSON.stringify(learned)) as LearnedSplicer
  adoptSettings(kept, now)
  return Object.entries(kept)
    .filter(
      ([name, value]) => Array.isArray(value) && value.length === 0 && name !== 'doubtedTriggerM' && name !== 'rolls',
    )
    .map(([name]) => name)
    .sort()
}

describe('GIVEN a splicer that was learned', () => {
  test.each<[string, Machine, string[]]>([
    ['nothing', machine(), []],
    ['the stop', machine({ stopS: 0.9 }), ['stopS']],
    ['a ramp', machine({ accelerationMps2: 1 }), ['ramps']],
    ['the overspeed', machine({ overspeed: 0.2 }), ['fillLeadM', 'fillRateShare', 'refillRatio']],
    ['the fill position', machine({}, { fillStoredM: 22 }), ['fillLeadM', 'fillStoredM']],
    ['the splice speed', machine({ spliceSpeedMps: 3 }), ['slowDowns']],
    ['the splice diameter', machine({ spliceDiameterM: 0.12 }), []],
  ])('WHEN the config changes %s THEN only what was learned of that is forgotten', (_what, now, lists) => {
    expect(forgotten(experienced(), now)).toEqual(lists)
  })

  test('WHEN the splice diameter was wrong and is set right THEN the offset that made up for it is forgotten', () => {
    expect(forgotten(experienced(-0.02), machine({ spliceDiameterM: 0.11 }))).toEqual(['triggerM'])
  })
})
