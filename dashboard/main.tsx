/** Starts the dashboard: theme, live connection, pages. */
import { render } from 'preact'
import { App } from './app.tsx'
import { applyTheme, readTheme } from './frame/theme.ts'
import { LiveStore } from './store.ts'
import './styles/tokens.css'
import './styles/base.css'
import './styles/wall.css'
import './styles/cards.css'

applyTheme(readTheme())
const store = new LiveStore()
store.start()
render(<App store={store} />, document.getElementById('app')!)
