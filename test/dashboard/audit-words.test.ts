/** The audit as an engineer reads it: no id, no JSON. */
import { describe, expect, it } from 'vitest'
import { auditWords } from '../../dashboard/people/audit-words.ts'
import type { AuditView } from '../../edge/api/messages-access.ts'

const RAISED = Date.parse('2026-03-02T13:03:00Z')
const names = { nameOf: (id: string) => (id === 'label_press' ? 'Label press' : id), zone: 'Europe/Berlin' }
const of = (action: string, subject: string, detail = '', result: AuditView['result'] = 'done') => {
  const entry = { id: 1, time: '2026-03-02T13:05:00Z', person: 'Ada', from: '::1', action, subject, result, detail }
  const { what, subject: thing, remark } = auditWords(entry, names)
  return [what, thing, remark]
}

describe('an audit entry in words', () => {
  it.each([
    [
      of('acknowledge', `label_press-buffer_short-${RAISED}`, 'slowing'),
      ['acknowledges', 'Label press: Festoon short, raised 2026-03-02 14:03 CET', 'slowing'],
    ],
    [
      of('shelve', `label_press-buffer_short-${RAISED}`, '1800 s'),
      ['puts an alarm aside', 'Label press: Festoon short, raised 2026-03-02 14:03 CET', 'for 30 min'],
    ],
    [of('shelve', `label_press-web_break-${RAISED}`, '0 s')[0], 'lets an alarm stand again'],
    [of('ready', 'label_press', 'true'), ['says that a roll is ready', 'Label press', '']],
    [of('ready', 'label_press', 'false'), ['says that a roll is not ready', 'Label press', '']],
    [of('stage', 'label_press', 'fetch false'), ['takes back how far a roll is', 'Label press', 'Roll fetched']],
    [
      of(
        'waiting_roll',
        'label_press',
        '{"roll_id":"R17","material":"4711","diameter":1200,"width":330,"hold":true}',
      )[2],
      'roll R17 · material 4711 · ⌀ 1200 mm · 330 mm wide · on hold',
    ],
    [of('waiting_roll', 'label_press', '{}'), ['takes back what was entered of a roll', 'Label press', '']],
    [of('job', 'label_press', '{"remaining":1200,"winding":null}')[2], '1200 m still to run · winding taken back'],
    [
      of('splice-entry', `label_press-${RAISED}`, 'failed; web_break; knife_blunt; changed at once'),
      [
        'adds to a splice',
        'Label press: splice of 2026-03-02 14:03 CET',
        'Failed; web break; Knife blunt; changed at once',
      ],
    ],
    [
      of('joint_out', `label_press-${RAISED} at Die cutter`)[1],
      'Label press: splice of 2026-03-02 14:03 CET, joint at Die cutter',
    ],
    [of('note closed', `label_press-note-open-${RAISED}`)[1], 'Label press: note of 2026-03-02 14:03 CET'],
    [of('flag', 'label_press', 'running 120 mm'), ['enters a flag', 'Label press', 'running roll, 120 mm deep']],
    [of('user role', 'Bo', 'operator'), ['gives a role', 'Bo', 'Operator']],
    [of('config', '', 'sources none; unwinds label_press')[2], 'Sources: none. Unwinds: label_press.'],
    [
      of('POST /api/unwinds/:id/ready', '', 'Sign in first.', 'refused'),
      ['says that a roll is ready', '', 'Sign in first.'],
    ],
    [of('POST /api/of-tomorrow', '', '404', 'refused')[0], 'asks for POST /api/of-tomorrow'],
  ])('%j', (said, wanted) => {
    expect(said).toEqual(wanted)
  })
})
