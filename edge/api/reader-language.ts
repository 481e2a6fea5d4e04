/** The language that a program's reader wants, by its header Accept-Language (RFC 9110, 12.5.4). Pure. */
import type { Messages } from '../messages/message.ts'

/** @returns the first of the languages wanted that there are texts in; undefined where none is, or all are as good. */
export function wantedLanguage(header: string | undefined, known: readonly string[]): string | undefined {
  const wanted = (header ?? '').split(',').flatMap((one) => {
    const [tag = '', ...parameters] = one.split(';').map((part) => part.trim().toLowerCase())
    const q = Number(parameters.find((part) => part.startsWith('q='))?.slice(2) ?? 1)
    return q > 0 ? [{ tag, q }] : []
  })
  for (const { tag } of wanted.sort((a, b) => b.q - a.q)) {
    if (tag === '*') return undefined
    const found = [tag, tag.split('-')[0]].find((language) => language !== undefined && known.includes(language))
    if (found !== undefined) return found
  }
  return undefined
}

/** Says texts in the language that is wanted, else in the site's. @param languages - those that there are texts in. */
export function messagesFor(
  header: string | undefined,
  { say, languages }: { say: Messages; languages: ReadonlyMap<string, Messages> },
): Messages {
  const language = wantedLanguage(header, [...languages.keys()])
  return languages.get(language ?? '') ?? say
}
