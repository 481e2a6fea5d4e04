/** What an engineer can do about one person, and how a new one is taken in. */
import { useState } from 'preact/hooks'
import type { UserView } from '../../edge/api/messages-access.ts'
import { AskForm, Dialog, HintedField } from '../frame/sign-in.tsx'
import { say } from '../messages.ts'
import { useSend } from './use-send.tsx'

const ROLES = ['viewer', 'operator', 'engineer'] as const

interface DialogProps {
  least: number
  onList: (list: UserView[]) => void
  onClose: () => void
}

const RoleChoice = ({ chosen }: { chosen: UserView['role'] }) => (
  <fieldset class="roles">
    <legend>{say('people.role')}</legend>
    {ROLES.map((role) => (
      <label key={role}>
        <input type="radio" name="role" value={role} defaultChecked={role === chosen} />
        <span>
          <b>{say(`role.${role}`)}</b> {say(`role.${role}.may`)}
        </span>
      </label>
    ))}
  </fieldset>
)

/** Shown as it is typed: it is read out to the person, and holds only until the first sign-in. */
const FirstPassword = ({ least, isRequired }: { least: number; isRequired: boolean }) => (
  <HintedField
    label={say('people.first_password')}
    hint={say('people.first_password.why', { least })}
    name="password"
    autocomplete="off"
    spellcheck={false}
    required={isRequired}
    minLength={least}
    maxLength={256}
  />
)

export const NewPersonDialog = ({ least, onList, onClose }: DialogProps) => {
  const { send, failure, asking } = useSend()
  const add = async ({ person, role, password }: Record<string, string>) => {
    const list = await send<UserView[]>('api/users', { person, role, password })
    if (list !== undefined) onList(list)
  }
  return (
    <Dialog onClose={onClose}>
      <AskForm
        title={say('people.add')}
        why={say('people.add.why')}
        go={say('people.add.go')}
        failure={failure}
        onSubmit={add}
        onCancel={onClose}
      >
        <label>
          {say('people.name')}
          <input name="person" autocomplete="off" required maxLength={64} />
        </label>
        <RoleChoice chosen="operator" />
        <FirstPassword least={least} isRequired={true} />
      </AskForm>
      {asking}
    </Dialog>
  )
}

export const PersonDialog = ({ user, least, onList, onClose }: DialogProps & { user: UserView }) => {
  const { send, failure, asking } = useSend()
  const [isSure, setSure] = useState(false)
  const base = `api/users/${encodeURIComponent(user.person)}`
  const act = async (verb: string, body: object) => {
    const list = await send<UserView[]>(`${base}/${verb}`, body)
    if (list !== undefined) onList(list)
    return list !== undefined
  }
  const keep = async ({ role, password = '' }: Record<string, string>) => {
    if (role !== user.role && !(await act('role', { role }))) return
    if (password !== '' && !(await act('password', { password }))) return
    onClose()
  }
  const doAndClose = (verb: string) => async () => {
    if (await act(verb, {})) onClose()
  }
  return (
    <Dialog onClose={onClose}>
      <AskForm
        title={user.person}
        why={say('people.change.why')}
        go={say('people.change.go')}
        failure={failure}
        onSubmit={keep}
        onCancel={onClose}
      >
        <RoleChoice chosen={user.role} />
        <FirstPassword least={least} isRequired={false} />
      </AskForm>
      <div class="buttons person-more">
        {user.locked_until !== null && (
          <button type="button" onClick={() => void doAndClose('unlock')()}>
            {say('people.unlock')}
          </button>
        )}
        {user.sessions > 0 && (
          <button type="button" onClick={() => void doAndClose('sign-out')()}>
            {say('people.sign_out')}
          </button>
        )}
        <button type="button" onClick={() => (isSure ? void doAndClose('remove')() : setSure(true))}>
          {isSure ? say('people.remove.sure', { person: user.person }) : say('people.remove')}
        </button>
      </div>
      {asking}
    </Dialog>
  )
}
