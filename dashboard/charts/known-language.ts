/**
 * Imported before the chart library, which formats numbers in the browser's language as soon as it loads: a screen that was
 * started without a language reports one that no formatter takes ("en-US@posix"), and no chart would be drawn.
 */
try {
  Intl.getCanonicalLocales(navigator.language)
} catch {
  // The reported name is no language: plain English formatting in its place.
  Object.defineProperty(navigator, 'language', { value: 'en', configurable: true })
}
