/** Light, dark or as the device says. Kept in this browser; where it may not be kept, automatic. */
export const THEMES = ['auto', 'light', 'dark'] as const
export type Theme = (typeof THEMES)[number]
const KEY = 'lastwrap.theme'

export const readTheme = (): Theme => {
  try {
    const kept = localStorage.getItem(KEY)
    return THEMES.find((theme) => theme === kept) ?? 'auto'
  } catch {
    // Storage is switched off in this browser: nothing was kept.
    return 'auto'
  }
}

export const applyTheme = (theme: Theme): void => {
  document.documentElement.dataset['theme'] = theme
  try {
    localStorage.setItem(KEY, theme)
  } catch {
    // Storage is switched off: the choice holds until the page is left.
    return
  }
}
