/** The log: changes of state, never samples. Lines for a person on a terminal, JSON in a pipe; always on standard error. */
import pino from 'pino'
import pretty from 'pino-pretty'

export interface Log {
  debug(what: object, message: string): void
  info(what: object, message: string): void
  warn(what: object, message: string): void
  error(what: object, message: string): void
}

export function createLog(): Log {
  const level = process.env['LASTWRAP_LOG'] ?? 'info'
  const known = Object.hasOwn(pino.levels.values, level) ? level : 'info'
  if (process.stderr.isTTY !== true)
    return pino({ level: known, base: null }, pino.destination({ dest: 2, sync: true }))
  const ignore = 'pid,hostname,source,splice,unwind'
  return pino(
    { level: known, base: null },
    pretty({ destination: 2, sync: true, ignore, translateTime: 'SYS:HH:MM:ss' }),
  )
}
