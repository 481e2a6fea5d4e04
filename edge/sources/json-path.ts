/** `value_path` and `time_path`: dotted names with `[n]` for arrays, as in `drives[0].speed`; a path may begin with `[n]`. */

export type PathStep = string | number

/** The steps of a path; undefined where the text is no path. */
export function parsePath(text: string): PathStep[] | undefined {
  const steps: PathStep[] = []
  // One step: a name (with its dot, unless it is the first) or an index in brackets.
  const step = /(?:(?:^|(?<!^)\.)([^.[\]]+))|\[(\d{1,9})\]/y
  let at = 0
  while (at < text.length) {
    step.lastIndex = at
    const match = step.exec(text)
    if (match === null) return undefined
    steps.push(match[2] === undefined ? (match[1] as string) : Number(match[2]))
    at = step.lastIndex
  }
  return steps.length === 0 ? undefined : steps
}

/** What stands at the path; undefined where nothing does. Only a value's own members count. */
export function atPath(value: unknown, steps: readonly PathStep[]): unknown {
  let here = value
  for (const step of steps) {
    if (typeof here !== 'object' || here === null || !Object.hasOwn(here, step)) return undefined
    here = (here as Record<PathStep, unknown>)[step]
  }
  return here
}

/** Every path in a payload that leads to a plain value, at most `most`. */
export function pathsIn(value: unknown, most = 100): { path: string; value: unknown }[] {
  const found: { path: string; value: unknown }[] = []
  const visit = (here: unknown, path: string): void => {
    if (found.length >= most) return
    if (typeof here !== 'object' || here === null) {
      found.push({ path, value: here })
    } else if (Array.isArray(here)) {
      for (const [index, each] of here.entries()) visit(each, `${path}[${index}]`)
    } else {
      for (const [name, each] of Object.entries(here)) visit(each, path === '' ? name : `${path}.${name}`)
    }
  }
  visit(value, '')
  return found
}
