/**
 * Which passwords are taken: long enough, not among those that are tried first, not made of what everybody knows here.
 * No rule of composition and no expiry, which only make people write them down (NIST SP 800-63B-3, 5.1.1.2, from memory).
 *
 * Length: SP 800-63B-3 asks for 8, revision 4 for 15 where nothing else guards (both from memory). Here nobody gets more than ten
 * tries before a wait, and it is typed at a machine with gloves: 10, or it stands on a note beside the screen.
 */
import type { Refusal } from './refusal.ts'

export const PASSWORD_MIN_LENGTH = 10
/** Nobody types more; a longer one only costs time. */
export const PASSWORD_MAX_LENGTH = 256
/** A password is no better for a part that everybody knows: so much has to be left without it. */
const LEAST_BESIDE_KNOWN = 6

/** Lists of leaked passwords begin with these, without what a digit or two at the end changes (common practice, no source). */
const COMMON = new Set([
  'password',
  'passwort',
  'contraseña',
  'administrator',
  'administrador',
  'changeme',
  'letmein',
  'iloveyou',
  'welcome',
  'willkommen',
  'bienvenido',
  'qwertyuiop',
  'qwertzuiop',
  'asdfghjkl',
  'qwerty',
  'qwertz',
  'default',
  'engineer',
  'operator',
  'maintenance',
  'supervisor',
  'abcdefghij',
  'abcdefghijk',
  'abcdefghijkl',
])

/** Letters only, lower case, with the usual digits read as the letters that they stand for. */
const bare = (text: string): string =>
  text
    .normalize('NFKC')
    .toLowerCase()
    .replace(
      /[@0134578$]/g,
      (sign) =>
        ({ '@': 'a', '0': 'o', '1': 'i', '3': 'e', '4': 'a', '5': 's', '7': 't', '8': 'b', $: 's' })[sign] ?? sign,
    )
    .replace(/[^\p{L}]/gu, '')

/** One sign over and over, or a walk along the alphabet or the digits. */
const isMonotonous = (signs: readonly string[]): boolean => {
  if (new Set(signs).size <= 3) return true
  const codes = signs.map((sign) => sign.codePointAt(0) ?? 0)
  const steps = codes.slice(1).map((code, at) => code - (codes[at] ?? 0))
  // 9 is followed by 0 on the keyboard.
  const isStep = (step: number, size: number): boolean => step === size || step === -9 * size
  return steps.every((step) => isStep(step, 1)) || steps.every((step) => isStep(step, -1))
}

/** @param known what everybody here knows: the person's name, the site's. @returns undefined where it may be taken. */
export const passwordFault = (password: string, known: readonly string[]): Refusal | undefined => {
  const signs = [...password.normalize('NFC')]
  if (signs.length < PASSWORD_MIN_LENGTH) {
    return { key: 'access.password.short', parameters: { least: PASSWORD_MIN_LENGTH, length: signs.length } }
  }
  if (password.length > PASSWORD_MAX_LENGTH) {
    return { key: 'access.password.long', parameters: { most: PASSWORD_MAX_LENGTH } }
  }
  const core = bare(password)
  const halves = core.slice(0, core.length / 2)
  const isCommon = COMMON.has(core) || (halves !== '' && COMMON.has(halves) && core === halves + halves)
  // Twelve or more letters beside a common word stand by themselves; "password" and digits do not.
  const begins = [...COMMON].some((word) => core.startsWith(word) && core.length - word.length < 3)
  if (isMonotonous(signs) || isCommon || begins) return { key: 'access.password.common' }
  const low = password.toLowerCase()
  for (const word of ['lastwrap', ...known]) {
    const part = word.toLowerCase()
    if (part.length >= 3 && low.includes(part) && signs.length - [...part].length < LEAST_BESIDE_KNOWN) {
      return { key: 'access.password.known', parameters: { word } }
    }
  }
  return undefined
}
