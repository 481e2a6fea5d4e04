/**
 * How this browser shows things: colours, language, units, clock. Kept here and nowhere else, so that a wall and a phone may
 * differ; where it may not be kept, it holds until the page is left.
 */
import { LANGUAGES } from './messages.ts'

export const THEMES = ['auto', 'light', 'dark'] as const
export type Theme = (typeof THEMES)[number]
export const UNIT_SYSTEMS = ['metric', 'us'] as const
export type UnitSystem = (typeof UNIT_SYSTEMS)[number]
export const CLOCKS = ['24', '12'] as const
export type Clock = (typeof CLOCKS)[number]

export interface Display {
  theme: Theme
  /** A language's code, or `site`: the one that the site's config says. */
  language: string
  units: UnitSystem
  clock: Clock
}

const KEY = 'lastwrap.display'
const USUAL: Display = { theme: 'auto', language: 'site', units: 'metric', clock: '24' }

const oneOf = <T extends string>(values: readonly T[], kept: unknown, usual: T): T =>
  values.find((value) => value === kept) ?? usual

const read = (): Display => {
  try {
    const kept = JSON.parse(globalThis.localStorage?.getItem(KEY) ?? '{}') as Record<string, unknown>
    return {
      theme: oneOf(THEMES, kept['theme'], USUAL.theme),
      language: oneOf(['site', ...LANGUAGES], kept['language'], USUAL.language),
      units: oneOf(UNIT_SYSTEMS, kept['units'], USUAL.units),
      clock: oneOf(CLOCKS, kept['clock'], USUAL.clock),
    }
  } catch {
    // Storage is switched off in this browser, or holds what is no choice: nothing was kept.
    return USUAL
  }
}

let display = read()

export const currentDisplay = (): Readonly<Display> => display

export const applyTheme = (): void => {
  document.documentElement.dataset['theme'] = display.theme
}

/** Takes a choice and keeps it. @returns false where it could not be kept and holds until the page is left. */
export const chooseDisplay = (choice: Partial<Display>): boolean => {
  display = { ...display, ...choice }
  try {
    localStorage.setItem(KEY, JSON.stringify(display))
    return true
  } catch {
    // Storage is switched off: the caller says so.
    return false
  }
}
