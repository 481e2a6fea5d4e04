/** Signals: is what it reads true? Sources first, then what the tags say of each other, then every tag. */
import type { ConsistencyView, UnwindView } from '../../edge/api/messages.ts'
import type { SignalsView } from '../../edge/api/messages-signals.ts'
import { inWords } from '../daemon-words.ts'
import { Icon } from '../frame/icons.tsx'
import { useLiveValue } from '../frame/live-context.ts'
import { Age, Empty, Fault, usePolled } from '../frame/parts.tsx'
import { say } from '../messages.ts'
import { clockWithZone } from '../times.ts'
import { formatNumber } from '../units.ts'
import { TagTable } from './tag-table.tsx'

const EVERY_S = 2
const CONSISTENCY_EVERY_S = 10
/** A clock that is off by so much makes times beside each other hard to compare, ms. */
const OFFSET_MS = 1000

const Sources = ({ sources }: { sources: SignalsView['sources'] }) => (
  <section aria-labelledby="sources">
    <h2 id="sources">{say('signals.sources')}</h2>
    <ul class="source-list">
      {sources.map((source) => {
        const isWell = source.state === 'connected' && source.trouble === null
        return (
          <li key={source.name} data-source={source.name}>
            <span class="tone" data-tone={isWell ? 'calm' : 'medium'}>
              <Icon name={isWell ? 'tick' : 'medium'} />
              {source.name}: {say(`source.${source.state}`)}
            </span>
            <span>
              {source.clock_offset_ms === null
                ? say('signals.no_offset')
                : say(Math.abs(source.clock_offset_ms) > OFFSET_MS ? 'signals.offset_large' : 'signals.offset', {
                    seconds: formatNumber(source.clock_offset_ms / 1000, 2),
                  })}
            </span>
            {source.stale_after_seconds !== null && (
              <span class="question">{say('signals.stale_after', { seconds: source.stale_after_seconds })}</span>
            )}
            {source.trouble !== null && <p>{source.trouble}</p>}
          </li>
        )
      })}
    </ul>
  </section>
)

/** What the tags of one unwind say of each other. */
const Consistency = ({ view }: { view: UnwindView }) => {
  const { data } = usePolled<ConsistencyView>(
    `api/unwinds/${encodeURIComponent(view.unwind)}/consistency`,
    CONSISTENCY_EVERY_S,
  )
  if (data === undefined) return null
  const judged = data.relations.filter(({ judged: isJudged }) => isJudged)
  return (
    <li>
      <h3>{view.name}</h3>
      {data.verdict !== 'disagree' ? (
        <p>
          <Icon name={data.verdict === 'agree' ? 'tick' : 'question'} />{' '}
          {say(`signals.verdict.${data.verdict}`, { count: judged.length })}
        </p>
      ) : (
        <ul class="findings">
          {data.findings.map((finding) => (
            <li key={finding.id}>
              <Icon name={finding.severity === 'wrong' ? 'high' : 'medium'} />
              {inWords(finding)}
            </li>
          ))}
        </ul>
      )}
      {data.relations.length > 0 && (
        <details>
          <summary>{say('signals.compared')}</summary>
          <ul class="relations">
            {data.relations.map((relation) => (
              <li key={relation.id}>{inWords(relation)}</li>
            ))}
          </ul>
        </details>
      )}
      <Age time={data.time} staleAfterS={3 * CONSISTENCY_EVERY_S} />
    </li>
  )
}

export const SignalsPage = () => {
  const unwinds = useLiveValue((store) => store.state.unwinds)
  const zone = useLiveValue((store) => store.state.health?.time_zone ?? 'UTC')
  const isLost = useLiveValue((store) => store.freshness === 'lost')
  const { data, error, retry } = usePolled<SignalsView>('api/signals', EVERY_S)
  return (
    <main id="content" class="page" tabIndex={-1}>
      <header class="page-head">
        <h1>{say('page.signals')}</h1>
        <p class="question">{say('signals.question')}</p>
      </header>
      {error !== undefined && <Fault reason={error} onRetry={retry} />}
      {data === undefined ? (
        error === undefined && <p class="question">{say('app.loading')}</p>
      ) : (
        <div class={isLost ? 'sections is-dead' : 'sections'}>
          <Sources sources={data.sources} />
          <section aria-labelledby="consistency">
            <h2 id="consistency">{say('signals.consistency')}</h2>
            <ul class="consistency">
              {unwinds.map((view) => (
                <Consistency key={view.unwind} view={view} />
              ))}
            </ul>
          </section>
          <section aria-labelledby="tags">
            <h2 id="tags">{say('signals.tags')}</h2>
            <p class="question">
              {say('signals.since', { time: clockWithZone(Date.parse(data.since), zone) })}{' '}
              <Age time={data.time} staleAfterS={10} />
            </p>
            {data.tags.length === 0 ? (
              <Empty head={say('signals.none')}>{say('signals.none.do')}</Empty>
            ) : (
              <TagTable view={data} nameOf={(unwind) => unwinds.find((one) => one.unwind === unwind)?.name ?? unwind} />
            )}
          </section>
        </div>
      )}
    </main>
  )
}
