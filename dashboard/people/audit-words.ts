/** An audit entry in words: what was done, to what, and how. The daemon keeps ids and figures; names stand on screens only. */
import type { AuditView } from '../../edge/api/messages-access.ts'
import { hasMessage, type MessageKey, say, sayName } from '../messages.ts'
import type { Route } from '../router.ts'
import { ageInWords, dateMinutesZone } from '../times.ts'
import { formatDiameter, formatLength, formatWidth } from '../units.ts'

export interface AuditWords {
  what: string
  subject: string
  /** Where the subject has a page. */
  to?: Route
  remark: string
}

export interface AuditNames {
  nameOf: (unwind: string) => string
  zone: string
}

/** What a refused request asked for; the daemon names the route where the command was never looked at. */
const ROUTES: Readonly<Record<string, string>> = {
  'POST /api/alarms/:id/acknowledge': 'acknowledge',
  'POST /api/alarms/:id/shelve': 'shelve',
  'POST /api/unwinds/:id/ready': 'ready',
  'POST /api/unwinds/:id/stages': 'stage',
  'POST /api/unwinds/:id/waiting-roll': 'waiting_roll',
  'POST /api/unwinds/:id/job': 'job',
  'POST /api/unwinds/:id/flags': 'flag',
  'POST /api/unwinds/:id/services': 'service',
  'POST /api/unwinds/:id/usual': 'usual',
  'POST /api/unwinds/:id/joints/:joint/out': 'joint_out',
  'POST /api/splices': 'splice-by-hand',
  'POST /api/splices/:id/entries': 'splice-entry',
  'POST /api/splices/:id/entries/take-back': 'splice-entry-taken-back',
  'POST /api/handover/notes': 'note',
  'POST /api/handover/notes/close': 'note closed',
  'POST /api/handover/taken-over': 'taken over',
  'POST /api/users': 'user added',
  'POST /api/users/:person/role': 'user role',
  'POST /api/users/:person/password': 'user password',
  'POST /api/users/:person/unlock': 'user unlocked',
  'POST /api/users/:person/sign-out': 'user signed out',
  'POST /api/users/:person/remove': 'user removed',
  'POST /api/sign-in': 'sign-in',
  'POST /api/sign-out': 'sign-out',
  'POST /api/set-up': 'set-up',
  'POST /api/password': 'password',
  'GET /api/users': 'people read',
  'GET /api/audit': 'audit read',
  'GET /api/audit.csv': 'audit read',
}

export const auditWords = (entry: AuditView, names: AuditNames): AuditWords => {
  const action = ROUTES[entry.action] ?? entry.action
  // Why it was refused is a sentence already.
  const isRefused = entry.result === 'refused'
  return {
    what: isRefused ? whatOf(action, '') : whatOf(action, entry.detail),
    ...subjectOf(action, entry.subject, names),
    remark: isRefused ? entry.detail : remarkOf(action, entry.detail, names.zone),
  }
}

/** Acts that are told otherwise where they take something back. */
const BACK: Readonly<Record<string, { detail: RegExp; key: MessageKey }>> = {
  ready: { detail: /^false$/, key: 'audit.action.ready.back' },
  shelve: { detail: /^0 s$/, key: 'audit.action.shelve.back' },
  waiting_roll: { detail: /^\{\}$/, key: 'audit.action.waiting_roll.back' },
  flag: { detail: / 0 mm$/, key: 'audit.action.flag.back' },
  stage: { detail: / false$/, key: 'audit.action.stage.back' },
}

const whatOf = (action: string, detail: string): string => {
  const back = BACK[action]
  if (back?.detail.test(detail)) return say(back.key)
  return /^[A-Z]+ \//.test(action) ? say('audit.action.other', { request: action }) : sayName('audit.action', action)
}

const subjectOf = (
  action: string,
  subject: string,
  { nameOf, zone }: AuditNames,
): Omit<AuditWords, 'what' | 'remark'> => {
  if (action === 'sign-out' && subject === 'everywhere') return { subject: say('audit.everywhere') }
  if (action.startsWith('user') || action.startsWith('sign') || subject === '') return { subject }
  if (action === 'joint_out') {
    const [, joint = '', station = ''] = /^(.*) at (.*)$/.exec(subject) ?? []
    const { subject: splice, ...to } = spliceOf(joint, nameOf, zone)
    return { subject: say('audit.joint', { joint: splice, station }), ...to }
  }
  if (action.startsWith('splice-')) return spliceOf(subject, nameOf, zone)
  const alarm = /^([a-z0-9_]*)-([a-z_]+)-(\d+)$/.exec(subject)
  if (alarm !== null) {
    const [, unwind = '', id = '', raised] = alarm
    const time = dateMinutesZone(Number(raised), zone)
    return {
      subject: say('audit.alarm', { unwind: nameOf(unwind), alarm: sayName('alarm', id), time }),
      to: { page: 'alarms' },
    }
  }
  const note = /^([a-z0-9_]*)-note-open-(\d+)$/.exec(subject)
  if (note !== null) {
    const time = dateMinutesZone(Number(note[2]), zone)
    return { subject: say('audit.note', { unwind: nameOf(note[1] ?? ''), time }), to: { page: 'handover' } }
  }
  return { subject: nameOf(subject), to: { page: 'unwind', id: subject } }
}

const spliceOf = (id: string, nameOf: AuditNames['nameOf'], zone: string): { subject: string; to?: Route } => {
  const [, unwind, tMs] = /^([a-z0-9_]+)-(\d+)$/.exec(id) ?? []
  if (unwind === undefined) return { subject: id }
  const time = dateMinutesZone(Number(tMs), zone)
  return { subject: say('audit.splice', { unwind: nameOf(unwind), time }), to: { page: 'splice', id } }
}

const remarkOf = (action: string, detail: string, zone: string): string => {
  switch (action) {
    case 'ready':
      return ''
    case 'shelve': {
      const seconds = Number.parseInt(detail, 10)
      return seconds > 0 ? say('audit.for', { time: ageInWords(seconds) }) : ''
    }
    case 'stage':
      return sayName('prep.stage', detail.split(' ')[0] ?? '')
    case 'flag': {
      const [, roll, depth] = /^(\w+) ([\d.]+) mm$/.exec(detail) ?? []
      if (roll === undefined) return detail
      const where = sayName('flags', roll)
      return Number(depth) === 0 ? where : say('audit.deep', { roll: where, depth: formatDiameter(Number(depth)) })
    }
    case 'waiting_roll':
    case 'job':
      return entered(detail)
    case 'splice-entry':
    case 'splice-by-hand':
      return detail.split('; ').map(spliceWord).join('; ')
    case 'splice-entry-taken-back': {
      const [person = '', time = ''] = detail.split('; ')
      return say('entry.by', { person, time: dateMinutesZone(Date.parse(time), zone) })
    }
    case 'service_taken_back':
      return sayName('service', detail)
    case 'service': {
      const [item = '', ...note] = detail.split(' ')
      return [sayName('service', item), ...note].join(' ')
    }
    case 'usual':
      return sayName('trend', detail)
    case 'user added':
    case 'user role':
      return sayName('role', detail)
    case 'user signed out':
      return say('audit.browsers', { count: detail })
    case 'audit pruned':
      return say('audit.pruned', { count: detail })
    case 'config':
      return configWords(detail)
    default:
      return detail
  }
}

/** What was said of a splice: verdict, cause and thing by their names, a note as it was written. */
const spliceWord = (word: string): string => {
  const prefix = ['outcome', 'cause', 'thing'].find((one) => hasMessage(`${one}.${word}`))
  return prefix === undefined ? word : sayName(prefix, word)
}

const configWords = (detail: string): string => {
  const [, sources, unwinds] = /^sources (.*); unwinds (.*)$/.exec(detail) ?? []
  if (sources === undefined) return detail
  const list = (names: string | undefined): string => (names === 'none' ? say('audit.none_of_them') : (names ?? ''))
  return say('audit.config', { sources: list(sources), unwinds: list(unwinds) })
}

type Field = number | string | boolean | null

const FIELDS: Readonly<Record<string, (value: Exclude<Field, null>) => string>> = {
  scan: (value) => say('audit.scan', { code: String(value) }),
  roll_id: (value) => say('roll.id', { id: String(value) }),
  material: (value) => say('roll.material', { material: String(value) }),
  diameter: (value) => `⌀ ${formatDiameter(Number(value))}`,
  length: (value) => formatLength(Number(value)),
  width: (value) => say('roll.width', { width: formatWidth(Number(value)) }),
  winding: (value) => sayName('winding', String(value)),
  hold: (value) => (value === true ? say('roll.hold') : ''),
  remaining: (value) => say('job.still', { length: formatLength(Number(value)) }),
}

/** A roll or a job as somebody entered it; what is no such record stays as it is. */
const entered = (detail: string): string => {
  let fields: Record<string, Field>
  try {
    fields = JSON.parse(detail) as Record<string, Field>
  } catch {
    return detail
  }
  const words = Object.entries(fields).map(([name, value]) => {
    if (value === null) return say('audit.taken_back', { what: sayName('audit.field', name) })
    return FIELDS[name]?.(value) ?? `${name.replaceAll('_', ' ')} ${String(value)}`
  })
  return words.filter((word) => word !== '').join(' · ')
}
