/**
 * A config file → a frozen `Config`, or all of its faults at once. Nothing is connected, no secret is read and no other file
 * is opened here, so that a config can be checked and replayed on any machine.
 */
import { readFileSync, statSync } from 'node:fs'
import { dirname } from 'node:path'
import { fileReasonOf, LastwrapError } from '../errors.ts'
import type { Config } from './config.ts'
import { LIMITS, readDocument } from './document.ts'
import { type Loose, Reading } from './reading.ts'
import { resolveConfig } from './resolve.ts'
import type { ConfigFile } from './schema.ts'
import { validate } from './validate.ts'

export interface LoadedConfig {
  config: Config
  /** Sentences with file, line, column and key: worth reading, but no reason not to start. */
  warnings: string[]
}

function deepFreeze<T>(value: T): T {
  if (typeof value === 'object' && value !== null && !Object.isFrozen(value)) {
    Object.freeze(value)
    for (const part of Object.values(value)) deepFreeze(part)
  }
  return value
}

/**
 * @param fileName names the file in sentences; relative paths in the config start at its directory
 * @throws LastwrapError `config_invalid`, whose `faults` are all there are, in the file's order
 */
export function loadConfigText(text: string, fileName: string): LoadedConfig {
  const document = readDocument(text, ['materials'])
  const reading = new Reading(fileName, document)
  const config = document.isBroken ? undefined : understand(document.data, reading, fileName)
  const { faults, warnings } = reading
  if (config === undefined || faults.length > 0) {
    const count = faults.length === 1 ? 'one fault' : `${faults.length} faults`
    throw new LastwrapError(
      'config_invalid',
      `The config ${fileName} has ${count}: correct what is listed and try again.`,
      { faults },
    )
  }
  return { config: deepFreeze(config), warnings }
}

function understand(data: unknown, reading: Reading, fileName: string): Config {
  const written = (typeof data === 'object' && data !== null ? structuredClone(data) : {}) as Loose<ConfigFile>
  const raw = validate(data, reading)
  return resolveConfig(reading, raw, written, dirname(fileName))
}

/**
 * @throws LastwrapError `wrong_input` where there is no such file or it is no text; else as `loadConfigText`
 */
export function loadConfigFile(path: string): LoadedConfig {
  return loadConfigText(readText(path), path)
}

function readText(path: string): string {
  try {
    if (statSync(path).size > LIMITS.bytes) {
      throw new LastwrapError(
        'wrong_input',
        `${path} is larger than ${LIMITS.bytes / 1e6} MB, which no config is: give the right file.`,
      )
    }
    return new TextDecoder('utf-8', { fatal: true }).decode(readFileSync(path))
  } catch (error) {
    if (error instanceof LastwrapError) throw error
    const code = (error as NodeJS.ErrnoException).code
    const sentences: Record<string, string> = {
      ENOENT: `There is no file ${path}: give the path of the config with --config.`,
      EISDIR: `${path} is a directory: give the path of the config file in it.`,
      EACCES: `The config ${path} may not be read by this user: change its permissions.`,
      ERR_ENCODING_INVALID_ENCODED_DATA: `The config ${path} is not UTF-8 text: save it as UTF-8.`,
    }
    const sentence =
      sentences[code ?? ''] ?? `The config ${path} can't be read (${fileReasonOf(error)}): check the file.`
    throw new LastwrapError('wrong_input', sentence, { cause: error })
  }
}
