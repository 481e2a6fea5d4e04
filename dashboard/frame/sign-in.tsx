/** Asks for name and password, and for a password of one's own where an engineer gave the first; the keyboard can leave it. */
import type { ComponentChildren, JSX } from 'preact'
import { useEffect, useId, useRef, useState } from 'preact/hooks'
import type { SessionView } from '../../edge/api/messages-access.ts'
import { reasonFor, sendJson } from '../api.ts'
import { say } from '../messages.ts'
import { isLocked, useSession } from './session.tsx'

type InputAttributes = JSX.IntrinsicElements['input']

/** A field with a sentence about what belongs into it, which a screen reader says after the name. */
export const HintedField = ({ label, hint, ...input }: { label: string; hint: string } & InputAttributes) => {
  const id = useId()
  return (
    <div class="field">
      <label>
        {label}
        <input aria-describedby={id} {...input} />
      </label>
      <span class="hint" id={id}>
        {hint}
      </span>
    </div>
  )
}

export const PresentPasswordField = () => (
  <label>
    {say('password.present')}
    <input name="present" type="password" autocomplete="current-password" required maxLength={256} />
  </label>
)

/** The two fields of a new password; told apart from a mistyped one before anything is sent. */
export const NewPasswordFields = ({ least }: { least: number }) => (
  <>
    <HintedField
      label={say('password.new')}
      hint={say('password.rule', { least })}
      name="password"
      type="password"
      autocomplete="new-password"
      required
      minLength={least}
      maxLength={256}
    />
    <label>
      {say('password.again')}
      <input name="again" type="password" autocomplete="new-password" required maxLength={256} />
    </label>
  </>
)

/** What a form's fields hold, as text. */
export const fieldsOf = (form: HTMLFormElement): Record<string, string> =>
  Object.fromEntries([...new FormData(form)].map(([name, value]) => [name, String(value)]))

export interface AskProps {
  title: string
  why: string
  go: string
  children: ComponentChildren
  failure: string | undefined
  /** Until it resolves the form is busy and takes no second go. */
  onSubmit: (fields: Record<string, string>) => Promise<void>
  /** Left out where there is nothing to go back to. */
  onCancel?: (() => void) | undefined
}

/** A form with what it asks, what went wrong and what it does. */
export const AskForm = ({ title, why, go, children, failure, onSubmit, onCancel }: AskProps) => {
  // A password is hashed for a second or two: without a sign of it people tap again.
  const [isBusy, setBusy] = useState(false)
  return (
    <form
      class="ask"
      aria-busy={isBusy}
      onSubmit={(event) => {
        event.preventDefault()
        if (isBusy) return
        setBusy(true)
        void onSubmit(fieldsOf(event.currentTarget)).finally(() => setBusy(false))
      }}
    >
      <h2 id="ask-title">{title}</h2>
      <p>{why}</p>
      {children}
      {failure !== undefined && <p role="alert">{failure}</p>}
      <div class="buttons">
        <button type="submit" disabled={isBusy}>
          {go}
        </button>
        {isBusy && <progress aria-label={say('form.busy')} />}
        {onCancel !== undefined && (
          <button type="button" onClick={onCancel}>
            {say('sign_in.cancel')}
          </button>
        )}
      </div>
    </form>
  )
}

interface SignInFormProps {
  onDone: () => void
  onCancel?: () => void
}

export const SignInForm = ({ onDone, onCancel }: SignInFormProps) => {
  const { session, refresh } = useSession()
  const [failure, setFailure] = useState<string>()
  /** The password that an engineer gave: the next step puts another in its place. */
  const [given, setGiven] = useState<string>()
  const send = async (path: string, body: object): Promise<SessionView | undefined> => {
    setFailure(undefined)
    try {
      const answer = (await sendJson(path, body)) as SessionView
      refresh(answer)
      return answer
    } catch (error) {
      setFailure(reasonFor(error))
      return undefined
    }
  }
  const enter = async ({ person, password = '' }: Record<string, string>) => {
    const answer = await send('api/sign-in', { person, password })
    if (answer?.must_change === true) setGiven(password)
    else if (answer !== undefined) onDone()
  }
  const change = async ({ present = given, password, again }: Record<string, string>) => {
    if (password !== again) setFailure(say('password.differ'))
    else if ((await send('api/password', { present, password })) !== undefined) onDone()
  }
  // Who is signed in with a first password may do nothing before there is another.
  if (given !== undefined || session?.must_change === true) {
    return (
      <AskForm
        key="change"
        title={say('password.choose')}
        why={say('password.choose.why')}
        go={say('password.keep')}
        failure={failure}
        onSubmit={change}
        onCancel={onCancel}
      >
        {given === undefined && <PresentPasswordField />}
        <NewPasswordFields least={session?.password_least ?? 0} />
      </AskForm>
    )
  }
  const why = session?.needs_set_up === true ? 'sign_in.nobody' : isLocked(session) ? 'sign_in.locked' : 'sign_in.why'
  return (
    <AskForm
      key="enter"
      title={say('sign_in.title')}
      why={say(why)}
      go={say('sign_in.go')}
      failure={failure}
      onSubmit={enter}
      onCancel={onCancel}
    >
      <label>
        {say('sign_in.name')}
        <input name="person" autocomplete="username" required maxLength={64} defaultValue={session?.person ?? ''} />
      </label>
      <label>
        {say('sign_in.password')}
        <input name="password" type="password" autocomplete="current-password" required maxLength={256} />
      </label>
    </AskForm>
  )
}

/** Puts its content above the page until it is answered or left. */
export const Dialog = ({ children, onClose }: { children: ComponentChildren; onClose: () => void }) => {
  const dialog = useRef<HTMLDialogElement>(null)
  useEffect(() => {
    dialog.current?.showModal()
    // A name that stands there already is not typed again: the first gap is.
    const fields = dialog.current?.querySelectorAll<HTMLInputElement>('input:required') ?? []
    for (const field of fields) {
      if (field.value !== '') continue
      field.focus()
      return
    }
  }, [])
  return (
    <dialog ref={dialog} aria-labelledby="ask-title" onClose={onClose}>
      {children}
    </dialog>
  )
}

export const SignIn = ({ onDone }: { onDone: (isIn: boolean) => void }) => (
  <Dialog onClose={() => onDone(false)}>
    <SignInForm onDone={() => onDone(true)} onCancel={() => onDone(false)} />
  </Dialog>
)
