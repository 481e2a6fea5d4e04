/** What stands, what came, loaded on demand. */
import '../styles/near.css'
import '../styles/alarms.css'

export { AlarmsPage } from './alarms-page.tsx'
