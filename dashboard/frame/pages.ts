/**
 * Every page in one table: its address, its title, its place in the navigation and where its code is. The wall comes with the
 * first load; every other page is fetched when somebody asks for it, so that the wall stays small.
 */
import type { ComponentType } from 'preact'
import type { MessageKey } from '../messages.ts'

export interface PageProps {
  /** What follows the page's path in the address, for a page of one thing; else empty. */
  id: string
  /** Behind the question mark, with it; empty where there is none. */
  query: string
}

export interface PageEntry {
  /** First part of the address; empty for the wall. */
  path: string
  /** The address goes on with the id of one thing. */
  hasId?: true
  title: MessageKey
  /** Words in the navigation; a page without them is reached from another page. */
  nav?: MessageKey
  /** Shown in the navigation to those only who may do so much. */
  least?: 'operator' | 'engineer'
  /** Shown in the navigation only where the site has what it is about. */
  needs?: 'finished_rolls'
  /** Undefined for the wall, which is there already. */
  load?: () => Promise<ComponentType<PageProps>>
}

/** In the order of the navigation. */
export const PAGES = {
  wall: { path: '', title: 'page.wall', nav: 'nav.wall' },
  unwinds: {
    path: 'unwinds',
    title: 'page.unwind',
    nav: 'nav.unwind',
    load: async () => (await import('../unwind/pages.tsx')).UnwindPage,
  },
  unwind: {
    path: 'unwinds',
    hasId: true,
    title: 'page.unwind',
    load: async () => (await import('../unwind/pages.tsx')).UnwindPage,
  },
  splices: {
    path: 'splices',
    title: 'page.splices',
    nav: 'nav.splices',
    load: async () => (await import('../splices/pages.tsx')).SplicesPage,
  },
  splice: {
    path: 'splices',
    hasId: true,
    title: 'page.splice',
    load: async () => (await import('../splices/pages.tsx')).SplicePage,
  },
  finished_rolls: {
    path: 'finished-rolls',
    title: 'page.finished_rolls',
    nav: 'page.finished_rolls',
    needs: 'finished_rolls',
    load: async () => (await import('../finished-rolls/pages.tsx')).FinishedRollsPage,
  },
  trends: {
    path: 'trends',
    title: 'page.trends',
    nav: 'nav.trends',
    load: async () => (await import('../trends/pages.tsx')).TrendsPage,
  },
  report: {
    path: 'report',
    title: 'page.report',
    nav: 'nav.report',
    load: async () => (await import('../report/pages.tsx')).ReportPage,
  },
  alarms: {
    path: 'alarms',
    title: 'page.alarms',
    nav: 'nav.alarms',
    load: async () => (await import('../alarms/pages.tsx')).AlarmsPage,
  },
  handover: {
    path: 'handover',
    title: 'page.handover',
    nav: 'nav.handover',
    load: async () => (await import('../handover/pages.tsx')).HandoverPage,
  },
  signals: {
    path: 'signals',
    title: 'page.signals',
    nav: 'nav.signals',
    load: async () => (await import('../signals/pages.tsx')).SignalsPage,
  },
  people: {
    path: 'people',
    title: 'page.people',
    nav: 'page.people',
    least: 'engineer',
    load: async () => (await import('../people/pages.tsx')).PeoplePage,
  },
  audit: {
    path: 'audit',
    title: 'page.audit',
    nav: 'page.audit',
    least: 'engineer',
    load: async () => (await import('../people/pages.tsx')).AuditPage,
  },
  account: {
    path: 'account',
    title: 'page.account',
    load: async () => (await import('../people/pages.tsx')).AccountPage,
  },
  set_up: {
    path: 'set-up',
    title: 'page.set_up',
    load: async () => (await import('../people/pages.tsx')).SetUpPage,
  },
} as const satisfies Record<string, PageEntry>

export type PageName = keyof typeof PAGES

export const pageEntries = Object.entries(PAGES) as [PageName, PageEntry][]
export const entryOf = (page: PageName): PageEntry => PAGES[page]
