/**
 * Facts of one lane in one fixed place. What does not fit beside each other at a height that is read from afar takes turns
 * there, all lanes in step.
 */
import type { UnwindView } from '../../edge/api/messages.ts'
import { Icon } from '../frame/icons.tsx'
import type { Shown } from '../live/countdown.ts'
import { say } from '../messages.ts'
import { Fit } from './fit.tsx'
import type { Instruction } from './instruction.ts'
import { arrivalWords, jointWords } from './joint-words.ts'
import { festoonWords, nextRollWords, readinessShown, readyWords, timesOfDay } from './lane-words.ts'
import type { WallLayout } from './use-wall.ts'

/** How long one fact stays, ms. */
export const FACT_FOR_MS = 6000

export const READY_ICON = { yes: 'tick', no: 'ring', unknown: 'question' } as const

export interface FactsProps {
  view: UnwindView
  instruction: Instruction
  shown: Shown | undefined
  serverTMs: number | undefined
  zone: string
  /** Counts turns. */
  turn: number
}

export const Wrong = ({ instruction }: { instruction: Instruction }) =>
  instruction.wrong === undefined ? null : (
    <Fit class="wrong" part="wrong">
      {instruction.wrong}
      {instruction.more > 0 && ` ${say('alarm.more', { count: instruction.more })}`}
    </Fit>
  )

export const FestoonFact = ({ view }: { view: UnwindView }) => {
  const words = festoonWords(view)
  return words === undefined ? null : (
    <Fit class={`festoon-words ${words.isShort ? 'is-short' : ''}`} part="festoon">
      {words.isShort && <Icon name="medium" />}
      {words.isShort ? ` ${words.text}` : words.text}
    </Fit>
  )
}

/** Ready, or the first missing link; nothing where the verb says the very same. */
export const Ready = ({ view, instruction }: { view: UnwindView; instruction: Instruction }) =>
  instruction.verb === say('verb.ready') || instruction.alarm?.alarm === 'roll_not_ready' ? null : (
    <Fit class="readiness" part="ready">
      <Icon name={READY_ICON[readinessShown(view)]} />
      {` ${readyWords(view)}`}
    </Fit>
  )

/** @param isNarrow - one after the other what elsewhere stands in one line. */
const farFacts = ({ view, shown, serverTMs, zone }: FactsProps, isNarrow = false): { part: string; text: string }[] => {
  const times = timesOfDay(view, shown?.seconds, serverTMs, zone)
  const roll = times.length === 0 ? undefined : nextRollWords(view)
  const facts = [
    ...(isNarrow || times.length === 0 ? times : [times.join(', ')]).map((text) => ({ part: 'time-of-day', text })),
    ...(roll === undefined ? [] : [{ part: 'next-roll', text: roll }]),
  ]
  // A joint on its way is news for seconds: every other turn is its.
  const arrival = jointWords(view) === undefined ? arrivalWords(view) : undefined
  if (arrival === undefined) return facts
  const joint = { part: 'arrival', text: arrival }
  return facts.length === 0 ? [joint] : facts.flatMap((fact) => [joint, fact])
}

/** Why the figures went up: in a place that is read from afar, while it is news. */
const Note = ({ shown }: { shown: Shown }) => (
  <Fit class="time-note" part="time-note">
    {shown.note === undefined ? '' : say(`time.${shown.note}`)}
  </Fit>
)

/** Times of day, the next roll and a joint on its way, in turn; for a row of its own. */
export const FarFacts = (props: FactsProps & { isCards: boolean }) => {
  const joint = props.isCards ? jointWords(props.view) : undefined
  const facts = joint === undefined ? farFacts(props) : [{ part: 'joint', text: joint }]
  const fact = facts[props.turn % Math.max(1, facts.length)]
  return fact === undefined ? null : (
    <Fit class="far" part={fact.part}>
      {fact.text}
    </Fit>
  )
}

/**
 * Beside the verb. What is wrong stays; the festoon is said always where a row below says the rest, else in turn with it. On
 * a far screen without that row the sign beside the verb says whether the roll is ready, and the verb what it lacks.
 */
export const Beside = (props: FactsProps & { layout: WallLayout }) => {
  const { view, instruction, shown, turn, layout } = props
  if (instruction.wrong !== undefined) return <Wrong instruction={instruction} />
  // Which metre is to be taken out is a matter of seconds; the times of day can wait.
  const joint = jointWords(view)
  if (joint !== undefined)
    return (
      <Fit class="far" part="joint">
        {joint}
      </Fit>
    )
  if (shown?.note !== undefined) return <Note shown={shown} />
  const facts = layout.hasDetailRow ? [] : farFacts(props, !layout.isOneLine)
  // The first turn is the festoon's.
  const fact = facts[(turn % (facts.length + 1)) - 1]
  if (fact !== undefined)
    return (
      <Fit class="far" part={fact.part}>
        {fact.text}
      </Fit>
    )
  return (
    <>
      {layout.isOneLine && <Ready view={view} instruction={instruction} />}
      <FestoonFact view={view} />
    </>
  )
}
