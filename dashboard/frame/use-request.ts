/** Reads something from the API for a component: its state, its error as a sentence, and a way to try again. */
import { useEffect, useState } from 'preact/hooks'
import { isNotFound, readJson, reasonFor } from '../api.ts'

export interface Requested<T> {
  data: T | undefined
  error: string | undefined
  isMissing: boolean
  retry(): void
}

/** Reads again whenever `path` or `again` changes; old data stays until new has come. No request while `path` is undefined. */
export const useRequest = <T>(path: string | undefined, again: unknown = 0): Requested<T> => {
  const [state, setState] = useState<{ data?: T; error?: string; isMissing?: boolean }>({})
  const [attempt, setAttempt] = useState(0)
  // `again` and `attempt` are among the dependencies to ask anew.
  useEffect(() => {
    if (path === undefined) return
    const abort = new AbortController()
    readJson<T>(path, abort.signal).then(
      (data) => setState({ data }),
      (error: unknown) => {
        if (!abort.signal.aborted) setState({ error: reasonFor(error), isMissing: isNotFound(error) })
      },
    )
    return () => abort.abort()
  }, [path, again, attempt])
  return {
    data: state.data,
    error: state.error,
    isMissing: state.isMissing === true,
    retry: () => setAttempt((count) => count + 1),
  }
}
