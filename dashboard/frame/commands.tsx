/** Sends what a person does; asks who is there when the daemon wants to know, then does it. */
import { type ComponentChildren, createContext } from 'preact'
import { useContext, useEffect, useMemo, useRef, useState } from 'preact/hooks'
import type { AlarmView } from '../../edge/api/messages.ts'
import { isSignInRefusal, RequestError, reasonFor, sendJson } from '../api.ts'
import { say } from '../messages.ts'
import { useLiveValue } from './live-context.ts'
import { readPerson } from './person.ts'
import { useSession } from './session.tsx'
import { SignIn } from './sign-in.tsx'

export interface Commands {
  /**
   * Sends what a person entered, in the name kept here; the answer, or undefined where it was not done: the reason is shown.
   * @param takes - a refusal that the page deals with by itself: where it says true nothing is shown.
   */
  send<T = unknown>(path: string, body: object, takes?: (refusal: RequestError) => boolean): Promise<T | undefined>
  acknowledge(alarm: AlarmView): Promise<void>
  setReady(unwind: string, ready: boolean): Promise<void>
  /** A person adds to a splice. */
  addEntry(splice: string, said: object): Promise<void>
  /** What was said of a splice was said by mistake. @param entry - its time. */
  takeBack(splice: string, entry: string): Promise<void>
  /** A person enters a splice that no signal saw; true where it was taken. */
  addSplice(said: object): Promise<boolean>
  zone: string
}

const CommandContext = createContext<Commands | undefined>(undefined)

export const useCommands = (): Commands => {
  const commands = useContext(CommandContext)
  if (commands === undefined) throw new Error('CommandProvider is missing above this component')
  return commands
}

export const CommandProvider = ({ children }: { children: ComponentChildren }) => {
  const zone = useLiveValue((store) => store.state.health?.time_zone ?? 'UTC')
  const [failure, setFailure] = useState<string>()
  // Read at the time of a command, not of its making.
  const { session: now } = useSession()
  const session = useRef(now)
  session.current = now
  // Who enters something anew or is told of the next fault has read this one: it no longer covers the form.
  useEffect(() => {
    if (failure === undefined) return
    const drop = () => setFailure(undefined)
    for (const kind of ['input', 'invalid']) document.addEventListener(kind, drop, true)
    return () => {
      for (const kind of ['input', 'invalid']) document.removeEventListener(kind, drop, true)
    }
  }, [failure])
  /** The command that waits for somebody to sign in. */
  const [waiting, setWaiting] = useState<(isIn: boolean) => void>()
  const commands = useMemo<Commands>(() => {
    const send = async <T,>(
      path: string,
      body: object,
      takes?: (refusal: RequestError) => boolean,
    ): Promise<T | undefined> => {
      setFailure(undefined)
      const asked = (): Promise<boolean> =>
        new Promise<boolean>((resolve) => setWaiting(() => resolve)).finally(() => setWaiting(undefined))
      // The daemon would refuse everything until there is a password of one's own.
      if (session.current?.must_change === true && !(await asked())) return undefined
      const person = readPerson()
      try {
        return (await sendJson(path, person === '' ? body : { person, ...body })) as T
      } catch (error) {
        if (error instanceof RequestError && takes?.(error) === true) return undefined
        if (!isSignInRefusal(error)) {
          setFailure(say('command.failed', { reason: reasonFor(error) }))
          return undefined
        }
        return (await asked()) ? send<T>(path, body, takes) : undefined
      }
    }
    return {
      zone,
      send,
      acknowledge: async (alarm) => void (await send(`api/alarms/${encodeURIComponent(alarm.id)}/acknowledge`, {})),
      addEntry: async (splice, said) => void (await send(`api/splices/${encodeURIComponent(splice)}/entries`, said)),
      takeBack: async (splice, entry) =>
        void (await send(`api/splices/${encodeURIComponent(splice)}/entries/take-back`, { entry })),
      addSplice: async (said) => (await send('api/splices', said)) !== undefined,
      setReady: async (unwind, ready) =>
        void (await send(`api/unwinds/${encodeURIComponent(unwind)}/ready`, { ready })),
    }
  }, [zone])
  return (
    <CommandContext.Provider value={commands}>
      {children}
      {failure !== undefined && (
        <div class="notice" role="alert">
          <span>{failure}</span>
          <button type="button" onClick={() => setFailure(undefined)}>
            {say('command.dismiss')}
          </button>
        </div>
      )}
      {waiting !== undefined && <SignIn onDone={waiting} />}
    </CommandContext.Provider>
  )
}
