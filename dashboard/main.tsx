/** Starts the dashboard: theme, language, live connection, pages. */
import { render } from 'preact'
import { App } from './app.tsx'
import { loadDaemonWords } from './daemon-words.ts'
import { applyTheme, currentDisplay } from './display.ts'
import { speak, spokenLanguage } from './messages.ts'
import { LiveStore } from './store.ts'
import './styles/tokens.css'
import './styles/base.css'
import './styles/wall.css'
import './styles/drawings.css'
import './styles/cards.css'

applyTheme()
const { language } = currentDisplay()
const root = document.documentElement
const wanted = language === 'site' ? root.lang : language
// Without its words the page comes up in English, which is better than not at all.
await speak(wanted, root.lang).catch((error: unknown) =>
  console.warn(`The words of "${wanted}" could not be loaded.`, error),
)
root.lang = spokenLanguage()
// Without them the daemon's sentences stand in the site's language, metric.
await loadDaemonWords().catch((error: unknown) => console.warn("The daemon's words could not be loaded.", error))
const store = new LiveStore()
store.start()
render(<App store={store} />, document.getElementById('app')!)
