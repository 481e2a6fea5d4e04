/** The page of trends, loaded on demand. */
import '../styles/near.css'
import '../styles/splices.css'
import '../styles/trends.css'
import '../styles/print.css'

export { TrendsPage } from './trends-page.tsx'
