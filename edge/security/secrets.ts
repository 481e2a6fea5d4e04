/** Reads a secret from where the config says that it is; it is never written there, logged or kept. */
import { readFile } from 'node:fs/promises'
import type { SecretRef } from '../config/config.ts'
import { fileReasonOf, LastwrapError } from '../errors.ts'

/** @throws LastwrapError `wrong_input` where the variable is not set or the file can't be read. */
export async function readSecret(ref: SecretRef): Promise<string> {
  if (ref.env !== undefined) {
    const value = process.env[ref.env]
    if (value === undefined || value === '') {
      throw new LastwrapError(
        'wrong_input',
        `The environment variable ${ref.env}, which should hold a password, is not set: set it for the user that starts Lastwrap, or name a file with password_file.`,
      )
    }
    return value
  }
  if (ref.file !== undefined) {
    let text: string
    try {
      text = await readFile(ref.file, 'utf8')
    } catch (thrown) {
      throw new LastwrapError(
        'wrong_input',
        `The file ${ref.file}, which should hold a password, can't be read (${fileReasonOf(thrown)}): write the password into it, readable for the user that runs Lastwrap, or name the right one.`,
        { cause: thrown },
      )
    }
    // Editors end a file with a newline; it is no part of the password.
    const value = text.replace(/\r?\n$/, '')
    if (value === '')
      throw new LastwrapError(
        'wrong_input',
        `The file ${ref.file}, which should hold a password, is empty: write the password into it.`,
      )
    return value
  }
  throw new LastwrapError('wrong_input', 'A password is missing: name it as password_env or password_file.')
}
