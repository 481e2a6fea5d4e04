/** Every source and tag as it is read, loaded on demand. */
import '../styles/near.css'
import '../styles/signals.css'

export { SignalsPage } from './signals-page.tsx'
