/** Site, local time, state of the sources, the way to other pages, and the caution that belongs wherever times are read. */
import type { HealthView } from '../../edge/api/messages.ts'
import { serverNow } from '../live/state.ts'
import { say } from '../messages.ts'
import type { Route } from '../router.ts'
import { clockWithZone } from '../times.ts'
import { DisplayChoice } from './display-choice.tsx'
import { Icon } from './icons.tsx'
import { useLiveValue } from './live-context.ts'
import { NavigationMenu } from './navigation.tsx'

/** What is wrong with sources, store and database, one sentence each; empty where all is well. */
export const troublesOf = (health: HealthView): string[] => [
  ...health.sources
    .filter((source) => source.state !== 'connected' || source.trouble !== null)
    .map((source) => {
      if (source.trouble !== null) return source.trouble
      return say(source.state === 'connecting' ? 'sources.connecting' : 'sources.lost', { name: source.name })
    }),
  ...(health.store.trouble === null ? [] : [say('store.trouble', { trouble: health.store.trouble })]),
  ...(health.database?.trouble ? [say('database.trouble', { trouble: health.database.trouble })] : []),
]

const Sources = ({ health }: { health: HealthView }) => {
  const troubles = troublesOf(health)
  if (troubles.length === 0) return <span class="sources">{say('sources.ok')}</span>
  const bad = health.sources.filter((source) => source.state !== 'connected')
  const short = bad.map((source) => say('sources.short', { name: source.name, state: say(`source.${source.state}`) }))
  return (
    <details class="sources is-bad">
      <summary>
        <Icon name="medium" />
        {short.length > 0 ? short.join(', ') : say('sources.look')}
      </summary>
      <ul>
        {troubles.map((trouble) => (
          <li key={trouble}>{trouble}</li>
        ))}
      </ul>
    </details>
  )
}

/** The site's time, by the daemon's clock; nothing while the connection is gone, for a frozen clock looks live. */
const SiteClock = () => {
  const text = useLiveValue((store) => {
    const tMs = store.freshness === 'live' ? serverNow(store.state, store.nowMs) : undefined
    return tMs === undefined ? '' : clockWithZone(tMs, store.state.health?.time_zone ?? 'UTC')
  })
  return <span class="clock">{text}</span>
}

const CAUTIONS = ['reads', 'estimate', 'reach', 'speed', 'change', 'use'] as const

const Cautions = () => (
  <ul>
    {CAUTIONS.map((caution) => (
      <li key={caution}>{say(`app.caution.${caution}`)}</li>
    ))}
  </ul>
)

export const Footer = ({ route }: { route: Route }) => {
  const health = useLiveValue((store) => store.state.health)
  const isLost = useLiveValue((store) => store.freshness === 'lost')
  return (
    <footer class="near foot">
      <details class="caution">
        <summary>{say('app.caution')}</summary>
        <Cautions />
      </details>
      <div class="foot-rest">
        <NavigationMenu route={route} />
        {health !== undefined && !isLost && <Sources health={health} />}
        {health?.demo === true && <span class="demo">{say('app.demo')}</span>}
        <span class="site">{health?.site}</span>
        <SiteClock />
        <DisplayChoice />
      </div>
      <div class="printed-cautions">
        <Cautions />
      </div>
    </footer>
  )
}
