/** In whose name something is done. */

/** Who acts on a machine where nobody signs in and no name is given. */
export const NOBODY_NAMED = 'local'
export const PERSON_MAX_LENGTH = 64

/** A name as it goes into history: one line, no control characters, trimmed; undefined where nothing is left. */
export const personName = (text: string): string | undefined => {
  const name = text
    .normalize('NFC')
    .replace(/[\p{Cc}\p{Cf}\s]+/gu, ' ')
    .trim()
  return name === '' ? undefined : [...name].slice(0, PERSON_MAX_LENGTH).join('')
}
