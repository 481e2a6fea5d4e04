/** The report of a shift or week, loaded on demand. */
import '../styles/near.css'
import '../styles/splices.css'
import '../styles/trends.css'
import '../styles/print.css'
import '../styles/report.css'

export { ReportPage } from './report-page.tsx'
