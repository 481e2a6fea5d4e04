/** Asks for a person's name and the site's password, in a dialog that the keyboard can leave. */
import { useEffect, useRef, useState } from 'preact/hooks'
import { reasonFor, sendJson } from '../api.ts'
import { say } from '../messages.ts'

export const SignIn = ({ onDone }: { onDone: (isIn: boolean) => void }) => {
  const dialog = useRef<HTMLDialogElement>(null)
  const [failure, setFailure] = useState<string>()
  useEffect(() => dialog.current?.showModal(), [])
  const enter = async (form: HTMLFormElement) => {
    const fields = new FormData(form)
    try {
      await sendJson('api/sign-in', { person: fields.get('person'), password: fields.get('password') })
      onDone(true)
    } catch (error) {
      setFailure(say('sign_in.refused', { reason: reasonFor(error) }))
    }
  }
  return (
    <dialog ref={dialog} aria-labelledby="sign-in-title" onClose={() => onDone(false)}>
      <form
        onSubmit={(event) => {
          event.preventDefault()
          void enter(event.currentTarget)
        }}
      >
        <h2 id="sign-in-title">{say('sign_in.title')}</h2>
        <p>{say('sign_in.why')}</p>
        <label>
          {say('sign_in.name')}
          <input name="person" autocomplete="username" required maxLength={64} />
        </label>
        <label>
          {say('sign_in.password')}
          <input name="password" type="password" autocomplete="current-password" required maxLength={256} />
        </label>
        {failure !== undefined && <p role="alert">{failure}</p>}
        <div class="buttons">
          <button type="submit">{say('sign_in.go')}</button>
          <button type="button" onClick={() => onDone(false)}>
            {say('sign_in.cancel')}
          </button>
        </div>
      </form>
    </dialog>
  )
}
