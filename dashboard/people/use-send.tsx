/** Sends what a form on these pages asks for; where the right to act has ended meanwhile, asks for the password and goes on. */
import type { VNode } from 'preact'
import { useState } from 'preact/hooks'
import { isSignInRefusal, reasonFor, sendJson } from '../api.ts'
import { SignIn } from '../frame/sign-in.tsx'

export interface Sending {
  /** Resolves to the answer; undefined where it was refused or given up. */
  send<T>(path: string, body: object): Promise<T | undefined>
  failure: string | undefined
  fail(reason: string | undefined): void
  /** Belongs somewhere on the page. */
  asking: VNode | null
}

export const useSend = (): Sending => {
  const [failure, fail] = useState<string>()
  const [waiting, setWaiting] = useState<(isIn: boolean) => void>()
  const signedIn = (): Promise<boolean> =>
    new Promise((resolve) => {
      setWaiting(() => (isIn: boolean) => {
        setWaiting(undefined)
        resolve(isIn)
      })
    })
  const send = async <T,>(path: string, body: object): Promise<T | undefined> => {
    fail(undefined)
    try {
      return (await sendJson(path, body)) as T
    } catch (error) {
      if (isSignInRefusal(error) && path !== 'api/password') return (await signedIn()) ? send<T>(path, body) : undefined
      fail(reasonFor(error))
      return undefined
    }
  }
  return { send, failure, fail, asking: waiting === undefined ? null : <SignIn onDone={waiting} /> }
}
