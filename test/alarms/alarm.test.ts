import { describe, expect, it } from 'vitest'
import { acknowledgeAlarm, type Judgement, normalAlarm, stepAlarm } from '../../edge/alarms/alarm.ts'

const DELAYS = { onDelayS: 2, offDelayS: 3 }

/** Steps once a second from 0; gives `second:event` for everything that happens. */
function play(judgements: Judgement[], acknowledgeAtS: number[] = []) {
  const alarm = normalAlarm()
  const happened: string[] = []
  judgements.forEach((judgement, second) => {
    for (const event of stepAlarm(alarm, judgement, DELAYS, second * 1000)) happened.push(`${second}:${event}`)
    if (acknowledgeAtS.includes(second)) {
      for (const event of acknowledgeAlarm(alarm)) happened.push(`${second}:${event}`)
    }
  })
  return { alarm, happened }
}

const times = (count: number, judgement: Judgement): Judgement[] => Array.from({ length: count }, () => judgement)

// The transitions are those of ISA-18.2-2016, from memory: A→B, B→C, B→D, C→A, D→A, D→B, C→B, any→H, H→A or B.
describe('an alarm', () => {
  it('is raised only when the condition has held for the on-delay', () => {
    // GIVEN an on-delay of 2 s WHEN the condition holds for one second, then from second 3 on
    const { alarm, happened } = play([undefined, 'low', 'low', undefined, 'low', 'low', 'low'])
    // THEN the first is too short, and the second raises after its own two seconds
    expect(happened).toEqual(['6:raised'])
    expect(alarm).toMatchObject({ state: 'unacknowledged', raisedTMs: 6000, priority: 'low' })
  })

  it('clears only when the condition has been gone for the off-delay', () => {
    const { alarm, happened } = play([...times(3, 'low'), undefined, undefined, 'low', ...times(4, undefined)])
    expect(happened).toEqual(['2:raised', '9:cleared'])
    expect(alarm.state).toBe('returned_unacknowledged')
  })

  it('goes B → C → A when acknowledged before it clears', () => {
    const { alarm, happened } = play([...times(5, 'medium'), ...times(4, undefined)], [3])
    expect(happened).toEqual(['2:raised', '3:acknowledged', '8:cleared'])
    expect(alarm.state).toBe('normal')
  })

  it('goes B → D → A when acknowledged after it cleared', () => {
    const { alarm, happened } = play([...times(3, 'medium'), ...times(6, undefined)], [7])
    expect(happened).toEqual(['2:raised', '6:cleared', '7:acknowledged'])
    expect(alarm.state).toBe('normal')
  })

  it('goes D → B when the condition returns unacknowledged', () => {
    const { happened } = play([...times(3, 'low'), ...times(4, undefined), ...times(3, 'low')])
    expect(happened).toEqual(['2:raised', '6:cleared', '9:raised'])
  })

  it('takes no acknowledgement where nothing waits for one', () => {
    const { happened } = play([...times(5, 'low')], [0, 3, 4])
    expect(happened).toEqual(['2:raised', '3:acknowledged'])
  })

  it('asks for attention again when its priority rises, and never because it falls', () => {
    const { alarm, happened } = play(
      [...times(3, 'medium'), 'medium', ...times(2, 'high'), ...times(3, 'low'), 'high'],
      [3],
    )
    expect(happened).toEqual(['2:raised', '3:acknowledged', '4:raised'])
    expect(alarm).toMatchObject({ state: 'unacknowledged', priority: 'high', raisedTMs: 2000 })
  })

  it('says nothing of a suppression while it is normal, and starts its on-delay anew afterwards', () => {
    const { happened } = play(['low', 'suppressed', 'low', 'low', 'low'])
    expect(happened).toEqual(['4:raised'])
  })

  it('is put aside by design while it stands, and comes back to B or A as the condition then is', () => {
    const stillThere = play([...times(3, 'low'), 'suppressed', 'suppressed', 'low'], [2])
    expect(stillThere.happened).toEqual(['2:raised', '2:acknowledged', '3:suppressed', '5:unsuppressed'])
    expect(stillThere.alarm.state).toBe('unacknowledged')
    const gone = play([...times(3, 'low'), 'suppressed', undefined, undefined])
    expect(gone.happened).toEqual(['2:raised', '3:suppressed', '4:unsuppressed', '4:cleared'])
    expect(gone.alarm.state).toBe('normal')
  })

  it('goes on from its own plain data', () => {
    const first = normalAlarm()
    stepAlarm(first, 'low', DELAYS, 0)
    const second = { ...normalAlarm(), ...JSON.parse(JSON.stringify(first)) }
    expect(stepAlarm(second, 'low', DELAYS, 2000)).toEqual(['raised'])
    expect(stepAlarm({ ...JSON.parse(JSON.stringify(second)) }, 'low', DELAYS, 3000)).toEqual([])
  })
})
