/** Stages of preparing the next roll, each a large button that can be taken back, and "ready" where no tag says it. */
import { useState } from 'preact/hooks'
import type { UnwindView } from '../../edge/api/messages.ts'
import type { Stage } from '../../edge/entries.ts'
import { useCommands } from '../frame/commands.tsx'
import { Icon } from '../frame/icons.tsx'
import { say } from '../messages.ts'
import { ageInWords, minutesWithZone } from '../times.ts'
import { READY_ICON } from '../wall/lane-items.ts'
import { readinessOf, readyWords } from '../wall/lane-words.ts'
import { isWrongRoll } from '../wall/trouble.ts'

export const Preparation = ({ view, isLost }: { view: UnwindView; isLost: boolean }) => {
  const { send, setReady, zone } = useCommands()
  const [isBusy, setBusy] = useState(false)
  /** The stage that somebody wants to take back. */
  const [asked, setAsked] = useState<Stage>()
  const { stages, ready } = view.preparation
  const isRefused = isWrongRoll(view)
  const run = (command: Promise<unknown>): void => {
    setBusy(true)
    void command.finally(() => setBusy(false))
  }
  const tap = (stage: Stage, done: boolean): void =>
    run(send(`api/unwinds/${encodeURIComponent(view.unwind)}/stages`, { stage, done }))
  return (
    <section aria-labelledby="preparation">
      <h2 id="preparation">{say('prep.title')}</h2>
      <ol class="stages">
        {stages
          .filter(({ usual_seconds, done_at }) => usual_seconds > 0 || done_at !== null)
          .map(({ stage, done_at, usual_seconds }) => (
            <li key={stage}>
              <button
                type="button"
                aria-pressed={done_at !== null}
                disabled={isBusy || isLost || isRefused}
                onClick={() => (done_at === null ? tap(stage, true) : setAsked(stage))}
              >
                <Icon name={done_at === null ? 'ring' : 'tick'} />
                <span class="stage-name">{say(`prep.stage.${stage}`)}</span>
                <span class="stage-note">
                  {isRefused
                    ? say('stage.refused')
                    : done_at === null
                      ? say('stage.usual', { time: ageInWords(usual_seconds) })
                      : say('stage.done', { time: minutesWithZone(Date.parse(done_at), zone) })}
                </span>
              </button>
            </li>
          ))}
        <li>
          {view.ready_by_hand ? (
            <button
              type="button"
              class="stage-ready"
              aria-pressed={ready === true}
              disabled={isBusy || isLost || (isRefused && ready !== true)}
              onClick={() => run(setReady(view.unwind, ready !== true))}
            >
              <Icon name={ready === true ? 'tick' : 'ring'} />
              <span class="stage-name">{say('stage.ready')}</span>
              <span class="stage-note">{say(ready === true ? 'stage.ready.undo' : 'stage.ready.tap')}</span>
            </button>
          ) : (
            <p class="stage-said">
              <Icon name={isRefused ? 'ring' : READY_ICON[readinessOf(view)]} />
              <span class="stage-name">{isRefused ? readyWords(view) : say(`ready.${readinessOf(view)}`)}</span>
              <span class="stage-note">
                {isRefused
                  ? say('stage.ready.refused', { ready: say(`ready.${readinessOf(view)}`) })
                  : say(ready === null ? 'stage.ready.silent' : 'stage.ready.plc')}
              </span>
            </p>
          )}
        </li>
      </ol>
      <TakeBack
        stage={stages.find(({ stage, done_at }) => stage === asked && done_at !== null)}
        onTakeBack={(stage) => {
          setAsked(undefined)
          tap(stage, false)
        }}
        onLeave={() => setAsked(undefined)}
      />
    </section>
  )
}

interface TakeBackProps {
  stage: UnwindView['preparation']['stages'][number] | undefined
  onTakeBack: (stage: Stage) => void
  onLeave: () => void
}

/** A glove brushes a button: what was done is taken back only when asked for, and where a tag says it, not here. */
const TakeBack = ({ stage: asked, onTakeBack, onLeave }: TakeBackProps) => {
  if (asked === undefined) return null
  const { stage, by_hand: isByHand } = asked
  const name = say(`prep.stage.${stage}`)
  return (
    <div class="ask-back" role="alert">
      <span>{say(isByHand ? 'stage.take_back' : 'stage.held', { stage: name })}</span>
      {isByHand && (
        <button type="button" onClick={() => onTakeBack(stage)}>
          {say('stage.take_back.go')}
        </button>
      )}
      <button type="button" onClick={onLeave}>
        {say(isByHand ? 'stage.take_back.leave' : 'command.dismiss')}
      </button>
    </div>
  )
}
