/** What the job still needs, and joints or defects that somebody marked inside the rolls. */
import { useState } from 'preact/hooks'
import type { AdviceView, FlagView, UnwindView } from '../../edge/api/messages.ts'
import type { EntriesView } from '../../edge/api/messages-entries.ts'
import { useCommands } from '../frame/commands.tsx'
import { numberField } from '../frame/number-field.ts'
import { say } from '../messages.ts'
import { ageInWords, minutesWithZone } from '../times.ts'
import { formatDiameter, formatLength, formatWidth, unitOf } from '../units.ts'
import { filled, quantityIn, textIn } from './fields.ts'

interface Props {
  view: UnwindView
  entries: EntriesView | undefined
  advice: AdviceView | undefined
  onEntered: () => void
}

const JobSays = ({ entries, advice, zone }: { entries: EntriesView; advice: AdviceView | undefined; zone: string }) => {
  const { job } = entries
  const wants = [
    job.material !== null && say('roll.material', { material: job.material }),
    job.width !== null && say('roll.width', { width: formatWidth(job.width) }),
    job.winding !== null && say(`winding.${job.winding}`),
  ].filter((part) => part !== false)
  return (
    <>
      <p>{wants.length === 0 ? say('job.any') : say('job.wants', { wants: wants.join(' · ') })}</p>
      <p>
        {job.remaining === null
          ? say('job.unknown')
          : job.remaining === 0
            ? say('job.over')
            : say('job.remaining', { length: formatLength(job.remaining) })}
        {advice?.job != null &&
          job.remaining !== 0 &&
          ` ${say(advice.job.splices === 0 ? 'job.last_roll' : 'job.splices', {
            count: advice.job.splices,
            left: formatLength(advice.job.left_on_roll.value),
          })}`}
      </p>
      {job.entered !== null && (
        <p class="question">
          {say('entry.by', { person: job.person ?? '', time: minutesWithZone(Date.parse(job.entered), zone) })}
        </p>
      )}
    </>
  )
}

const Flag = ({ flag }: { flag: FlagView }) => (
  <li>
    {flag.metres < 0
      ? say('flag.gone', { depth: formatDiameter(flag.depth) })
      : say(flag.before_splice ? 'flag.before' : 'flag.after', {
          depth: formatDiameter(flag.depth),
          length: formatLength(flag.metres),
          time: flag.seconds === null ? say('time.stopped') : ageInWords(flag.seconds),
        })}{' '}
    <span class="question">{flag.person}</span>
  </li>
)

/** Depths closer than this are one, as they come back from being written as a number, mm. */
const SAME_DEPTH_MM = 0.1

const Flags = ({ view, advice, onEntered }: Props) => {
  const { send } = useCommands()
  const path = `api/unwinds/${encodeURIComponent(view.unwind)}/flags`
  /** The mark that was just entered, until the advice knows of it: "none" would say that it was lost. */
  const [entered, setEntered] = useState<number>()
  const enter = async (body: { depth: number; roll?: string | undefined }): Promise<void> => {
    if ((await send(path, body)) === undefined) return
    setEntered(body.depth > 0 ? body.depth : undefined)
    onEntered()
  }
  const flags = advice?.flags ?? []
  const waiting = advice?.waiting_flags ?? []
  const isKnown = [...flags, ...waiting].some(({ depth }) => Math.abs(depth - (entered ?? depth)) < SAME_DEPTH_MM)
  return (
    <section aria-labelledby="flags">
      <h2 id="flags">{say('flags.title')}</h2>
      {entered !== undefined && !isKnown && (
        <p role="status">{say('flag.entered', { depth: formatDiameter(entered) })}</p>
      )}
      {advice === undefined && <p class="question">{say('app.loading')}</p>}
      {flags.length + waiting.length === 0 ? (
        advice !== undefined && entered === undefined && <p class="question">{say('flags.none')}</p>
      ) : (
        <ul class="flags">
          {flags.map((flag) => (
            <Flag key={`${flag.entered} ${flag.depth}`} flag={flag} />
          ))}
          {waiting.map((flag) => (
            <li key={`${flag.entered} ${flag.depth}`}>
              {say('flag.waiting', { depth: formatDiameter(flag.depth) })} <span class="question">{flag.person}</span>
            </li>
          ))}
        </ul>
      )}
      <form
        class="entry"
        onSubmit={(event) => {
          event.preventDefault()
          const form = event.currentTarget
          const fields = new FormData(form)
          const depth = quantityIn(fields, 'depth', 'diameter')
          if (depth === undefined) return
          void enter({ depth, roll: textIn(fields, 'roll') }).then(() => form.reset())
        }}
      >
        <label>
          {say('flags.depth', { unit: unitOf('diameter') })}
          <input name="depth" required {...numberField} />
        </label>
        <label>
          {say('flags.roll')}
          <select name="roll">
            <option value="running">{say('flags.running')}</option>
            <option value="waiting">{say('flags.waiting')}</option>
          </select>
        </label>
        <button type="submit">{say('flags.enter')}</button>
        {flags.length + waiting.length > 0 && (
          <button
            type="button"
            onClick={() =>
              void Promise.all([
                flags.length > 0 && enter({ depth: 0 }),
                waiting.length > 0 && enter({ depth: 0, roll: 'waiting' }),
              ])
            }
          >
            {say('flags.clear')}
          </button>
        )}
      </form>
    </section>
  )
}

const Job = ({ view, entries, advice, onEntered }: Props) => {
  const { send, zone } = useCommands()
  return (
    <section aria-labelledby="job">
      <h2 id="job">{say('job.title')}</h2>
      {entries !== undefined && <JobSays entries={entries} advice={advice} zone={zone} />}
      <form
        class="entry"
        onSubmit={(event) => {
          event.preventDefault()
          const form = event.currentTarget
          const fields = new FormData(form)
          const body = filled({
            remaining: quantityIn(fields, 'remaining', 'length'),
            material: textIn(fields, 'material'),
            width: quantityIn(fields, 'width', 'diameter'),
          })
          if (Object.keys(body).length === 0) return
          void send(`api/unwinds/${encodeURIComponent(view.unwind)}/job`, body).then((said) => {
            if (said === undefined) return
            form.reset()
            onEntered()
          })
        }}
      >
        {entries?.job.remaining_by_tag !== true && (
          <label>
            {say('job.length', { unit: unitOf('length') })}
            <input name="remaining" {...numberField} />
          </label>
        )}
        <label>
          {say('waiting.material')}
          <input name="material" maxLength={100} autocomplete="off" list="materials" />
        </label>
        <label>
          {say('waiting.width', { unit: unitOf('diameter') })}
          <input name="width" {...numberField} />
        </label>
        <button type="submit">{say('entry.enter')}</button>
      </form>
    </section>
  )
}

export const JobAndFlags = (props: Props) => (
  <>
    <Job {...props} />
    <Flags {...props} />
  </>
)
