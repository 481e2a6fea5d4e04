/** Builds the dashboard once before browser tests, so that they never see yesterday's pages. */
import { fileURLToPath } from 'node:url'
import { build } from 'vite'

export const DASHBOARD_DIR = fileURLToPath(new URL('../../dashboard/dist', import.meta.url))

export default async (): Promise<void> => {
  await build({ root: fileURLToPath(new URL('../../dashboard', import.meta.url)), logLevel: 'warn' })
}
