/** What a shift hands over: the times of shifts, notes that stay until somebody closes them, and who took over. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { HandoverView } from '../../edge/api/messages-handover.ts'
import { shiftStartTMs } from '../../edge/shift.ts'
import { addUser } from '../support/memory-access.ts'
import { startApi, TEST_START_MS, type TestApi } from '../support/start-api.ts'

let api: TestApi
beforeAll(async () => {
  api = await startApi()
})
afterAll(() => api.app.close())
const view = async (): Promise<HandoverView> => (await api.app.inject({ url: '/api/handover' })).json()
const post = (path: string, payload: object) =>
  api.app.inject({ method: 'POST', url: `/api/handover/${path}`, payload })

describe('the present shift', () => {
  const SHIFTS = ['06:00', '14:00', '22:00']
  const began = (now: string, zone: string): string =>
    new Date(shiftStartTMs(Date.parse(now), SHIFTS, zone)).toISOString()

  it.each([
    // Berlin is UTC+1 in winter and UTC+2 in summer; 2026-03-29 loses the hour from 02:00, 2026-10-25 has it twice.
    ['2026-03-02T06:00:00Z', 'Europe/Berlin', '2026-03-02T05:00:00.000Z'],
    ['2026-03-02T04:59:59Z', 'Europe/Berlin', '2026-03-01T21:00:00.000Z'],
    ['2026-03-29T03:30:00Z', 'Europe/Berlin', '2026-03-28T21:00:00.000Z'],
    ['2026-03-29T04:00:00Z', 'Europe/Berlin', '2026-03-29T04:00:00.000Z'],
    ['2026-10-25T04:59:59Z', 'Europe/Berlin', '2026-10-24T20:00:00.000Z'],
    ['2026-07-01T19:00:00Z', 'America/Chicago', '2026-07-01T19:00:00.000Z'],
  ])('at %s in %s began at %s', (now, zone, start) => {
    expect(began(now, zone)).toBe(start)
  })
})

describe('the handover', () => {
  it('has the splices of the next hour, what stands, the last failure with its reason, and what is counted', async () => {
    const { unwinds, standing, last_bad, services, taken_over, shift_began } = await view()
    expect(shift_began).toBe('2026-03-02T05:00:00.000Z')
    const [press] = unwinds
    expect(press!.splices?.[0]?.seconds).toBeGreaterThan(0)
    // The stand-in has no estimate for these: "none within an hour" would be untrue.
    expect(unwinds.filter(({ splices }) => splices === null).map(({ unwind }) => unwind)).toEqual([
      'laminator_inner',
      'sack_line',
    ])
    expect(press!.preparation.stages).toHaveLength(3)
    expect(standing.map(({ alarm }) => alarm)).toContain('buffer_short')
    expect(last_bad[0]?.outcome).toMatch(/failed|missed|aborted/)
    expect(services.map(({ item }) => item)).toEqual(expect.arrayContaining(['knife', 'tape']))
    expect(taken_over).toBeNull()
  })

  it('has the splices of the shift that were not good, the newest of each kind among them, with what people said', async () => {
    const one = await startApi()
    const began = Date.parse(one.daemon.handover.view().shift_began)
    const enter = (outcome: string, minute: number, more: object = {}) =>
      one.app.inject({
        method: 'POST',
        url: '/api/splices',
        payload: { unwind: 'sack_line', started: String(began + minute * 60_000), outcome, ...more },
      })
    const said = { thing: 'tape_did_not_hold', done: ['rollers_cleaned'], note: 'Tape from the old box' }
    for (const answer of [
      await enter('failed', 48, { cause: 'web_break', ...said }),
      ...(await Promise.all([50, 52, 54, 56, 58].map((minute) => enter('missed', minute, { cause: 'no_new_roll' })))),
    ]) {
      expect(answer.statusCode).toBe(200)
    }
    const { last_bad } = one.daemon.handover.view()
    expect(last_bad).toHaveLength(5)
    const starts = last_bad.map(({ started }) => started)
    expect(starts).toEqual(starts.toSorted().reverse())
    expect(last_bad.find(({ outcome }) => outcome === 'failed')).toMatchObject({
      cause: 'web_break',
      thing: 'tape_did_not_hold',
      done: ['rollers_cleaned'],
      notes: ['Tape from the old box'],
      is_outcome_said: true,
    })
    // Of whose cause alone somebody spoke, the outcome is the signals'.
    const [own] = one.daemon.splices({ outcome: 'failed', unwind: 'label_press', limit: 1 })
    await one.app.inject({
      method: 'POST',
      url: `/api/splices/${own!.id}/entries`,
      payload: { cause: 'splicer_fault' },
    })
    const { bad } = await one.daemon.desk.report({ fromTMs: 0, toTMs: one.clock.nowMs() }, 'label_press')
    expect(bad.find(({ id }) => id === own!.id)).toMatchObject({
      ...{ outcome: 'failed', cause: 'splicer_fault' },
      ...{ is_outcome_said: false, is_cause_said: true },
    })
    await one.app.close()
  })

  it('keeps a note until somebody closes it, and knows who took over', async () => {
    expect(
      (await post('notes', { note: '  Core chuck of side B squeaks ', unwind: 'label_press', person: 'Mika' }))
        .statusCode,
    ).toBe(200)
    const [note] = (await view()).notes
    expect(note).toMatchObject({ note: 'Core chuck of side B squeaks', unwind: 'label_press', person: 'Mika' })
    api.clock.advance(60_000)
    expect((await post('taken-over', { by: 'Kim', note: 'all clear' })).statusCode).toBe(200)
    expect((await view()).taken_over).toMatchObject({
      person: 'Kim',
      note: 'all clear',
      time: new Date(TEST_START_MS + 60_000).toISOString(),
    })
    expect((await view()).notes).toHaveLength(1)
    expect((await post('notes/close', { id: note!.id, person: 'Kim' })).statusCode).toBe(200)
    expect((await view()).notes).toEqual([])
    const again = await post('notes/close', { id: note!.id })
    expect([again.statusCode, again.json().error]).toEqual([409, 'This note is not open any more.'])
  })

  it('may be taken over by another one than who is signed in: both names are kept, and the audit has who did it', async () => {
    const signed = await startApi({ web: { withoutSignIn: 'viewer' } })
    await addUser(signed.signIn, 'Jon', 'operator', 'tin whistle 9')
    const inject = (path: string, payload: object, cookie = '') =>
      signed.app.inject({ method: 'POST', url: `/api/${path}`, payload, headers: cookie === '' ? {} : { cookie } })
    const answer = await inject('sign-in', { person: 'Jon', password: 'tin whistle 9' })
    const cookie = (answer.headers['set-cookie'] as string[])[0]!.split(';')[0]!
    const last = () => signed.daemon.handover.view().taken_over
    expect((await inject('handover/taken-over', { by: 'Kim', note: 'all clear' }, cookie)).statusCode).toBe(200)
    expect(last()).toMatchObject({ person: 'Kim', from: 'Jon' })
    expect(signed.audit.at(-1)).toMatchObject({ action: 'taken over', person: 'Jon', detail: 'by Kim all clear' })
    signed.clock.advance(1000)
    await inject('handover/taken-over', { by: 'Jon' }, cookie)
    expect(last()).toMatchObject({ person: 'Jon', from: null })
    await signed.app.close()
  })

  it('refuses an empty note and one about nothing', async () => {
    expect((await post('notes', { note: ' ' })).statusCode).toBe(400)
    expect((await post('notes', { note: 'x', unwind: 'nowhere' })).statusCode).toBe(404)
  })
})
