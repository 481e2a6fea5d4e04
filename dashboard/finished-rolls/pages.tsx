/** Joints in finished rolls, loaded on demand. */
import '../styles/near.css'
import '../styles/splices.css'
import '../styles/trends.css'
import '../styles/print.css'
import '../styles/report.css'

export { FinishedRollsPage } from './finished-rolls-page.tsx'
