/** What one shift hands over to the next, on one page and on paper; loaded on demand. */
import '../styles/near.css'
import '../styles/handover.css'

export { HandoverPage } from './handover-page.tsx'
