/** The pages about people, loaded together on demand. */
import '../styles/near.css'
import '../styles/people.css'

export { AccountPage } from './account-page.tsx'
export { AuditPage } from './audit-page.tsx'
export { PeoplePage } from './people-page.tsx'
export { SetUpPage } from './set-up-page.tsx'
