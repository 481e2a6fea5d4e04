/** Words towards people: all of them stand in `messages/<language>.json`, by key, with `{name}` for what is filled in. */
import en from './messages/en.json' with { type: 'json' }

export type MessageKey = keyof typeof en
export type MessageParams = Readonly<Record<string, string | number>>

const catalogue: Readonly<Record<string, string>> = en

/** True where the catalogue has words for this key: for keys built from a name that the daemon sent. */
export const hasMessage = (key: string): key is MessageKey => Object.hasOwn(catalogue, key)

/** The words for a key. A parameter that is not given stays visible as `{name}`: a fault to be seen, not hidden. */
export const say = (key: MessageKey, params: MessageParams = {}): string =>
  (catalogue[key] ?? key).replace(/\{(\w+)\}/g, (whole, name: string) => {
    const value = params[name]
    return value === undefined ? whole : String(value)
  })

/** Words for a name that came from outside; the name itself where the catalogue has none yet. */
export const sayName = (prefix: string, name: string): string => {
  const key = `${prefix}.${name}`
  return hasMessage(key) ? say(key) : name.replaceAll('_', ' ')
}
