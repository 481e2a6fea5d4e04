/** The verb `set-up-link`: a way in for whoever has the machine, where no engineer can sign in any more. */
import { existsSync } from 'node:fs'
import { systemClock } from '../clock.ts'
import { loadConfigFile } from '../config/load.ts'
import { LastwrapError } from '../errors.ts'
import { AccessStore } from '../history/access-store.ts'
import { createMessages } from '../messages/message.ts'
import { SignIn } from '../security/sign-in.ts'
import { accessFile } from '../web-access.ts'

export interface SetUpLinkOptions {
  config?: string
  data: string
}

export async function setUpLink({ config, data }: SetUpLinkOptions): Promise<void> {
  const file = accessFile(data)
  if (!existsSync(file)) {
    throw new LastwrapError(
      'wrong_input',
      `There are no accounts in ${data}: start the monitor once, or name its folder with --data.`,
    )
  }
  const web = config === undefined || config === '' ? undefined : loadConfigFile(config).config.web
  const store = new AccessStore(file, { nowMs: () => systemClock.nowMs() })
  try {
    const signIn = new SignIn({
      store,
      clock: systemClock,
      audit: store,
      idleMs: 0,
      siteName: '',
      say: createMessages('en'),
    })
    const token = signIn.newSetUpToken()
    store.record({
      tMs: systemClock.nowMs(),
      person: '',
      from: 'command',
      action: 'set-up link',
      subject: '',
      result: 'done',
      detail: '',
    })
    const scheme = web?.tls === undefined ? 'http' : 'https'
    console.log(`${scheme}://127.0.0.1:${web?.port ?? 8420}${web?.basePath ?? ''}/set-up#${token}`)
    console.log('It works once, within 24 hours, and makes or regains the account of an engineer.')
  } finally {
    store.close()
  }
}
