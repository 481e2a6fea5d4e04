/** The pages of review and their charts, loaded together on demand. */
import '../styles/near.css'
import '../styles/splices.css'
import '../styles/splice-people.css'
import '../styles/print.css'

export { SplicePage } from './splice-page.tsx'
export { SplicesPage } from './splices-page.tsx'
