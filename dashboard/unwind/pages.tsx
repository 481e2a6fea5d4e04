/** One unwind and what its operator enters, loaded on demand. */
import '../styles/near.css'
import '../styles/unwind.css'

export { UnwindPage } from './unwind-page.tsx'
