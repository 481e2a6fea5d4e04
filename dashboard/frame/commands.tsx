/** Sends what a person does; asks who is there when the daemon wants to know, then does it. */
import { type ComponentChildren, createContext } from 'preact'
import { useContext, useMemo, useState } from 'preact/hooks'
import type { AlarmView } from '../../edge/api/messages.ts'
import { isSignInRefusal, reasonFor, sendJson } from '../api.ts'
import { say } from '../messages.ts'
import { useLiveValue } from './live-context.ts'
import { SignIn } from './sign-in.tsx'

export interface Commands {
  acknowledge(alarm: AlarmView): Promise<void>
  setReady(unwind: string, ready: boolean): Promise<void>
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
  /** The command that waits for somebody to sign in. */
  const [waiting, setWaiting] = useState<() => Promise<void>>()
  const commands = useMemo<Commands>(() => {
    const run = async (path: string, body: object): Promise<void> => {
      setFailure(undefined)
      try {
        await sendJson(path, body)
      } catch (error) {
        if (isSignInRefusal(error)) setWaiting(() => () => run(path, body))
        else setFailure(say('command.failed', { reason: reasonFor(error) }))
      }
    }
    return {
      zone,
      acknowledge: (alarm) => run(`api/alarms/${encodeURIComponent(alarm.id)}/acknowledge`, {}),
      setReady: (unwind, ready) => run(`api/unwinds/${encodeURIComponent(unwind)}/ready`, { ready }),
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
      {waiting !== undefined && (
        <SignIn
          onDone={(isIn) => {
            setWaiting(undefined)
            if (isIn) void waiting()
          }}
        />
      )}
    </CommandContext.Provider>
  )
}
