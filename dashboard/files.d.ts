/** Style sheets are imported for their effect only. */
declare module '*.css'

/** Vite's: every file that fits, read when it is asked for. */
interface ImportMeta {
  glob<T>(patterns: readonly string[]): Record<string, () => Promise<T>>
}
