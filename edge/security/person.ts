/** In whose name something is done. */

export const PERSON_MAX_LENGTH = 64

/** A name as it goes into history: one line, no control characters, trimmed; undefined where nothing is left. */
export const personName = (text: string): string | undefined => {
  const name = text
    .normalize('NFC')
    .replace(/[\p{Cc}\p{Cf}\s]+/gu, ' ')
    .trim()
  return name === '' ? undefined : [...name].slice(0, PERSON_MAX_LENGTH).join('')
}
