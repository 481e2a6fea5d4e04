/**
 * The words of a lane, row by row: who, what is wrong and why the time went up; what to do, ready or the first missing link, and
 * the festoon; the times of day and the next roll. Pure.
 */
import type { AlarmView, UnwindView } from '../../edge/api/messages.ts'
import type { AlarmId } from '../../edge/columns.ts'
import type { IconName } from '../frame/icons.tsx'
import type { Shown } from '../live/countdown.ts'
import { isThreading } from '../live/line-state.ts'
import { hasMessage, say } from '../messages.ts'
import { formatTimeLeft, toStep } from '../times.ts'
import { type Instruction, shortAlarm } from './instruction.ts'
import { jointWords } from './joint-words.ts'
import { type FestoonWords, festoonWords, nextRollWords, readinessShown, readyWords, timesOfDay } from './lane-words.ts'
import type { Item } from './row-plan.ts'

export const READY_ICON = { yes: 'tick', no: 'ring', unknown: 'question' } as const

export interface LaneItems {
  /** Behind the name. */
  top: Item[]
  verb: Item
  /** Behind the verb. */
  facts: Item[]
  /** From far off; nothing of it decides. */
  far: Item[]
}

export interface LaneFacts {
  view: UnwindView
  instruction: Instruction
  icon: IconName
  shown: Shown | undefined
  serverTMs: number | undefined
  zone: string
}

/** Alarms that the facts of a lane say in other words. */
const isSaid = (
  { alarm, words }: AlarmView,
  { view, shown }: LaneFacts,
  festoon: FestoonWords | undefined,
): boolean => {
  if (alarm === 'roll_not_ready') return true
  if (alarm === 'splicer_not_auto') {
    // A fault is more than being out of automatic.
    return readyWords(view) === say('missing.splicer_auto') && words?.key.includes('.fault') !== true
  }
  // "Overdue" stands beside the time to its core.
  if (alarm === 'splice_overdue') return shown?.isToCore === true
  return (alarm === 'buffer_short' || alarm === 'buffer_not_filling') && festoon?.isShort === true
}

/** A word of its own that stands for an alarm where its name has no room: a part of a name is read as another one, or as none. */
const briefOf = (alarm: AlarmView | undefined): string | undefined => {
  const key = alarm === undefined ? 'splice.aborted.brief' : `alarm.${alarm.alarm}.brief`
  return hasMessage(key) ? say(key) : undefined
}

const shorter = (text: string | undefined): { halves?: readonly string[] } =>
  text === undefined ? {} : { halves: [text] }

/** What is wrong, where neither verb nor facts nor the words in the time's place say it. */
const wrongItems = (facts: LaneFacts, festoon: FestoonWords | undefined): Item[] => {
  const { view, instruction, shown } = facts
  const { wrong, alarm, others } = instruction
  const isNew = alarm === undefined ? isNewWord(wrong, view) : !isSaid(alarm, facts, festoon)
  // The word for a rise has its seconds to be read in; what is wrong stands there before and after.
  const rank = shown?.note === undefined ? 0 : 1
  return [
    ...(wrong === undefined || !isNew
      ? []
      : [{ part: 'wrong', text: wrong, isBold: true, rank, ...shorter(briefOf(alarm)) } as const]),
    ...others
      .filter((other) => !isSaid(other, facts, festoon))
      .map((other, index) => {
        const [part, key] = other.cleared === null ? (['also', 'alarm.also'] as const) : (['was', 'alarm.was'] as const)
        const text = say(key, { alarm: shortAlarm(other) })
        const brief = briefOf(other)
        return {
          part: `${part}-${index}`,
          text,
          isFramed: part === 'was',
          rank: 2,
          halves: [brief === undefined ? say(`${key}.short`) : say(key, { alarm: brief })],
        } as const
      }),
  ]
}

const isNewWord = (wrong: string | undefined, view: UnwindView): boolean =>
  ![readyWords(view), say('time.none'), say('alarm.roll_not_ready')].includes(wrong ?? '')

/** Alarms by which a line that runs has to stop: that a roll is ready says nothing good of it then. */
const STOPS_THE_LINE: ReadonlySet<AlarmId> = new Set([
  'splice_missed',
  'splice_failed',
  'web_break',
  'wrong_roll_spliced',
])

const mustStop = ({ state }: UnwindView, { alarm }: Instruction): boolean =>
  alarm !== undefined && alarm.cleared === null && STOPS_THE_LINE.has(alarm.alarm) && state !== 'standing'

const readyItem = ({ view, instruction }: LaneFacts): Item[] =>
  // The verb says the very same; in a cycle the roll that was ready is being taken, and the next is not yet asked for.
  instruction.verb === say('verb.ready') || view.state === 'splicing' || mustStop(view, instruction)
    ? []
    : [
        {
          part: 'ready',
          text: readyWords(view),
          isBig: instruction.tone === 'calm',
          // Beside a calm verb stands the same sign already.
          ...(instruction.tone === 'calm' ? {} : { icon: READY_ICON[readinessShown(view)] }),
          rank: 0,
        },
      ]

const festoonItem = ({ instruction }: LaneFacts, words: FestoonWords | undefined): Item[] => {
  if (words === undefined) return []
  // An order to slow down to a speed stands there already.
  const isSpeedSaid = words.isShort && /\d/.test(instruction.verb)
  return [
    {
      part: 'festoon',
      text: isSpeedSaid ? say('festoon.short') : words.text,
      isBig: instruction.tone === 'calm',
      isBold: words.isShort,
      isSoft: !words.isShort,
      rank: 0,
      ...(words.isShort ? { icon: 'medium' as const } : {}),
      ...(words.speed !== undefined && !isSpeedSaid
        ? { halves: [say('festoon.short'), say('festoon.at_most', { speed: words.speed })] }
        : {}),
    },
  ]
}

const timeText = (seconds: number): string => Object.values(formatTimeLeft(seconds)).join(' ')

/** A mark that comes sooner than this keeps its place while it can, s. */
const FLAG_SOON_S = 600

/** From here on somebody has to go and stand there, s. */
const FLAG_NEAR_S = 75

const isFlagNear = ({ next_flag: flag, state }: UnwindView): boolean =>
  flag !== null && state !== 'splicing' && flag.seconds <= FLAG_NEAR_S

/** It stands beside the name then, where nothing pushes it aside. */
const nearFlagItem = ({ view }: LaneFacts): Item[] =>
  view.next_flag === null || !isFlagNear(view) || isThreading(view)
    ? []
    : [
        {
          part: 'flag',
          text: say('flag.next', { time: timeText(toStep(view.next_flag.seconds)) }),
          isBold: true,
          icon: 'medium',
          rank: 0,
        },
      ]

/** The next flaw or joint inside the roll: somebody has to stand there when it comes. */
const flagItem = ({ view }: LaneFacts): Item[] => {
  const { next_flag: flag, state } = view
  if (flag === null || state === 'splicing' || isThreading(view) || isFlagNear(view)) return []
  const text = say('flag.next', { time: timeText(toStep(flag.seconds)) })
  return [{ part: 'flag', text, rank: flag.seconds < FLAG_SOON_S ? 1 : 2 }]
}

const farItems = ({ view, shown, serverTMs, zone }: LaneFacts): Item[] => {
  const times = timesOfDay(view, shown?.seconds, serverTMs, zone)
  if (times.length === 0) return []
  return [...times, ...nextRollWords(view)].map(({ part, text }) => ({ part, text, isSoft: true, rank: 2 }) as const)
}

/** The 80 % interval is so wide on either side of the time, share and s, that the figures would claim too much by themselves. */
const VAGUE_SHARE = 0.15
const VAGUE_S = 10

/** As after a roll change, or while a line starts. */
const isVague = ({ view: { seconds_low: low, seconds_high: high }, shown }: LaneFacts): boolean =>
  shown !== undefined &&
  shown.isToCore !== true &&
  shown.note === undefined &&
  low !== null &&
  high !== null &&
  (high - low) / 2 > Math.max(VAGUE_S, VAGUE_SHARE * shown.seconds)

export const laneItems = (facts: LaneFacts): LaneItems => {
  const { view, instruction, icon, shown } = facts
  const festoon = festoonWords(view)
  const joint = jointWords(view)
  const isCalm = instruction.tone === 'calm'
  return {
    top: [
      // Why the figures went up stands beside them, while it is news.
      ...(shown?.note === undefined
        ? []
        : [{ part: 'time-note', text: say(`time.${shown.note}`), isBold: true, rank: 0 } as const]),
      ...(shown?.isToCore === true
        ? [
            {
              part: 'to-core',
              text: say('time.core_in', { time: timeText(shown.seconds) }),
              isBold: true,
              rank: 0,
            } as const,
          ]
        : []),
      ...nearFlagItem(facts),
      ...wrongItems(facts, festoon),
      ...(isVague(facts) ? [{ part: 'about', text: say('time.about'), isSoft: true, rank: 1 } as const] : []),
      ...(joint === undefined ? [] : [{ part: 'joint', text: joint, isSoft: true, rank: 1 } as const]),
    ],
    verb: {
      part: 'verb',
      text: instruction.verb,
      isBig: isCalm,
      isBold: !isCalm,
      isOnBar: !isCalm,
      isLead: true,
      icon,
      rank: 0,
    },
    facts: [...readyItem(facts), ...festoonItem(facts, festoon), ...flagItem(facts)],
    // While something is wrong the times of day can wait.
    far: isCalm ? farItems(facts) : [],
  }
}
