/** What a source says while it runs on; a command that ends says its trouble without it. */
export const TRIED_AGAIN = ' It is tried again and again.'

export const withoutRetry = (sentence: string): string => sentence.replace(/ It is tried again[^.]*\.$/, '')
