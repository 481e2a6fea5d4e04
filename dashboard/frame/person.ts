/** In whose name entries are made where nobody signs in: kept in this browser, so that a crew types it once a shift. */
const KEY = 'lastwrap.person'
const LONGEST = 64

export const readPerson = (): string => {
  try {
    return (localStorage.getItem(KEY) ?? '').slice(0, LONGEST)
  } catch {
    // Storage is switched off in this browser: nothing was kept.
    return ''
  }
}

export const keepPerson = (person: string): void => {
  try {
    localStorage.setItem(KEY, person.trim().slice(0, LONGEST))
  } catch {
    // Storage is switched off: the name has to be typed with each entry that asks for one.
    return
  }
}
