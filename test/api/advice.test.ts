import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { startApi, type TestApi } from '../support/start-api.ts'

let api: TestApi
beforeEach(async () => {
  api = await startApi()
})
afterEach(() => api.app.close())

const get = async (url: string) => {
  const answer = await api.app.inject(url)
  return { status: answer.statusCode, body: answer.json() }
}
const flag = (unwind: string, payload: object) =>
  api.app.inject({ method: 'POST', url: `/api/unwinds/${unwind}/flags`, payload })

describe('advice', () => {
  it('is given for one unwind, with every field that the daemon gives', async () => {
    const { status, body } = await get('/api/unwinds/label_press/advice')
    expect(status).toBe(200)
    expect(body).toEqual(JSON.parse(JSON.stringify(api.daemon.advice('label_press'))))
    expect(body.splice_diameter.smallest).toEqual({ value: 112.5, deviation: 1.2 })
  })

  it('is empty and not wrong where nothing is known', async () => {
    const { status, body } = await get('/api/unwinds/sack_line/advice')
    expect(status).toBe(200)
    expect(body).toMatchObject({ must_be_ready_seconds: null, next_splices: [], splice_diameter: null, caliper: null })
  })

  it('is refused for an unwind that there is not', async () => {
    const { status, body } = await get('/api/unwinds/nobody/advice')
    expect(status).toBe(404)
    expect(body.error).toContain('There is no unwind "nobody"')
  })
})

describe('what if', () => {
  it('gives the forecast at another speed', async () => {
    const { status, body } = await get('/api/unwinds/label_press/what-if?speed=150')
    expect(status).toBe(200)
    expect(body).toMatchObject({ unwind: 'label_press', speed: 150 })
    expect(body).toMatchObject({ units: { speed: 'm/min', seconds: 's', buffer: 'm' } })
  })

  it.each(['', '?speed=0', '?speed=-3', '?speed=fast', '?speed=1e9', '?speed=150&more=1', '?speed=NaN'])(
    'refuses "%s" in a sentence',
    async (query) => {
      const { status, body } = await get(`/api/unwinds/label_press/what-if${query}`)
      expect(status).toBe(400)
      expect(body).toMatchObject({ code: 'wrong_parameter' })
      expect(body.error).toMatch(/^The parameter .*\.$/)
    },
  )

  it('names the unit of a speed that is out of range', async () => {
    const { body } = await get('/api/unwinds/label_press/what-if?speed=1e9')
    expect(body.error).toMatch(/^The parameter speed has to be at most \d+ m\/min\.$/)
  })
})

describe('a flag inside the roll', () => {
  it('goes to the daemon in the name of whoever enters it, and into the audit', async () => {
    const answer = await flag('label_press', { depth: 12.5, person: 'R. Lind' })
    expect(answer.statusCode).toBe(200)
    expect(api.daemon.commands).toEqual([
      { kind: 'flag', unwind: 'label_press', roll: 'running', depth: 12.5, person: 'R. Lind' },
    ])
    expect(api.audit.at(-1)).toMatchObject({ action: 'flag', subject: 'label_press', detail: 'running 12.5 mm' })
    expect((await get('/api/unwinds/label_press/advice')).body.flags[0]).toMatchObject({ depth: 12.5 })
  })

  it('that would lie in the core is refused with what the roll has, and is in the audit as refused', async () => {
    const answer = await flag('label_press', { depth: 320 })
    expect(answer.statusCode).toBe(409)
    expect(answer.json().error).toBe(
      'The running roll has web down to 310 mm below its outside when it was loaded, and 320 mm lies in its core: ' +
        'measure the depth from the outside in.',
    )
    expect(api.audit.at(-1)).toMatchObject({ action: 'flag', result: 'refused' })
    expect((await get('/api/unwinds/label_press/advice')).body.flags).toEqual([])
    // A rule is read to a millimetre or two; and of the waiting roll nothing is known here.
    expect((await flag('label_press', { depth: 312 })).statusCode).toBe(200)
    expect((await flag('label_press', { depth: 900, roll: 'waiting' })).statusCode).toBe(200)
  })

  it('may belong to the waiting roll', async () => {
    await flag('label_press', { depth: 40, roll: 'waiting' })
    expect(api.daemon.commands[0]).toMatchObject({ roll: 'waiting', depth: 40 })
  })

  it.each([
    {},
    { depth: -1 },
    { depth: 1e9 },
    { depth: '12' },
    { depth: null },
    { depth: 12, roll: 'other' },
    { depth: 12, colour: 'red' },
  ])('refuses %j and tells the daemon nothing', async (payload) => {
    const answer = await flag('label_press', payload)
    expect(answer.statusCode).toBe(400)
    expect(api.daemon.commands).toEqual([])
  })

  it('needs somebody signed in where acting does', async () => {
    await api.app.close()
    api = await startApi({ web: { withoutSignIn: 'viewer' } })
    expect((await flag('label_press', { depth: 12 })).statusCode).toBe(401)
    expect((await get('/api/unwinds/label_press/advice')).status).toBe(200)
  })
})

describe('lines', () => {
  it('are listed with their meetings and what to do', async () => {
    const { status, body } = await get('/api/lines')
    expect(status).toBe(200)
    expect(body).toEqual(JSON.parse(JSON.stringify(api.daemon.lines())))
    expect(body[0].meetings[0].advice).toMatchObject({ unwind: 'laminator_inner', early_metres: 17 })
  })
})
