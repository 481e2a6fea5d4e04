/** The pages of review and their charts, loaded together on demand. */
import '../styles/near.css'
import '../styles/splices.css'

export { SplicePage } from './splice-page.tsx'
export { SplicesPage } from './splices-page.tsx'
