/**
 * Sends points to a database that speaks InfluxDB line protocol over HTTP: dialect `v2` (`/api/v2/write`, token) or `v1`
 * (`/write?db=`, user and password or token). One request per batch, no retry here: `buffered.ts` has the queue.
 */
import { HttpError, InfluxDB, setLogger, type WriteApi } from '@influxdata/influxdb-client'
import type { DatabaseConfig } from '../config/config.ts'
import { LastwrapError, reasonOf } from '../errors.ts'
import type { Delivery, Sender } from './buffered.ts'
import { lineOf } from './line-protocol.ts'
import type { Point } from './output.ts'
import { refusedPoints } from './refused-points.ts'

const TIMEOUT_MS = 10_000
/** A batch is one request: the client, which would split it, is given limits beyond any batch. */
const MOST_BYTES = 1_000_000_000
const MOST_LINES = 100_000
const NO_FIELD = 'it has no field that the database can hold'

/** What the config's secrets say, read by the caller. */
export interface DatabaseSecrets {
  token?: string
  password?: string
}

// The client prints each failure on the console; here every failure comes back as a result instead.
setLogger({ error: () => undefined, warn: () => undefined })

export class InfluxSender implements Sender {
  private readonly config: DatabaseConfig
  private readonly api: WriteApi

  /** @throws LastwrapError where the URL can't be one. */
  constructor(config: DatabaseConfig, secrets: DatabaseSecrets) {
    this.config = config
    try {
      this.api = writeApi(config, secrets)
    } catch (thrown) {
      const what = `database.url ${config.url} can't be used (${reasonOf(thrown)}): write it like http://127.0.0.1:8086.`
      throw new LastwrapError('wrong_input', what, { cause: thrown })
    }
  }

  async send(points: readonly Point[]): Promise<Delivery> {
    const lines = points.map(lineOf)
    const unwritable = lines.flatMap((line, index) => (line === undefined ? [{ index, reason: NO_FIELD }] : []))
    const written = lines.filter((line) => line !== undefined)
    try {
      if (written.length > 0) {
        this.api.writeRecords(written)
        await this.api.flush()
      }
      return unwritable.length === 0 ? { kind: 'taken' } : { kind: 'partly_taken', refused: unwritable }
    } catch (thrown) {
      return this.deliveryOf(thrown, points, lines, unwritable)
    }
  }

  private deliveryOf(
    thrown: unknown,
    points: readonly Point[],
    lines: readonly (string | undefined)[],
    unwritable: readonly { index: number; reason: string }[],
  ): Delivery {
    const { url, bucket, dialect } = this.config
    if (!(thrown instanceof HttpError)) {
      const reason = reasonOf(thrown) || String((thrown as { code?: unknown }).code)
      return away(`The database ${url} doesn't answer (${reason}): see that it runs and that the URL is right.`)
    }
    const said = thrown.body ?? thrown.message
    switch (thrown.statusCode) {
      case 400:
      case 422: {
        const refused = refusedPoints(said, points, lines)
        return refused === undefined
          ? { kind: 'refused', reason: shortened(said) }
          : { kind: 'partly_taken', refused: [...refused, ...unwritable] }
      }
      case 413:
        return { kind: 'refused', reason: 'it is too large for the database' }
      case 401:
      case 403: {
        const who = dialect === 'v1' ? 'user, password or token' : 'token'
        return away(
          `The database ${url} refuses the ${who} (${thrown.statusCode}): see that it may write to ${bucket}, then ` +
            'restart Lastwrap.',
        )
      }
      case 404: {
        const other = dialect === 'v1' ? 'v2' : 'v1'
        return away(
          `The database ${url} knows no ${bucket} or has no ${dialect} write path (404): create ${bucket}, or set ` +
            `database.dialect to ${other}.`,
        )
      }
      default:
        return {
          ...away(`The database ${url} can't take points now (${thrown.statusCode}: ${shortened(said)}).`),
          pauseMs: retryAfterMs(thrown),
        }
    }
  }
}

function writeApi(config: DatabaseConfig, { token, password }: DatabaseSecrets): WriteApi {
  const { url, dialect, org, bucket, user } = config
  const basic = Buffer.from(`${user?.name ?? ''}:${password ?? ''}`, 'utf8').toString('base64')
  const headers = token === undefined && user !== undefined ? { authorization: `Basic ${basic}` } : undefined
  const api = new InfluxDB({ url, token, headers, timeout: TIMEOUT_MS }).getWriteApi(org, bucket, 'us', {
    maxRetries: 0,
    batchSize: MOST_LINES,
    maxBatchBytes: MOST_BYTES,
    flushInterval: 0,
  })
  // The client knows the newer path only. `u` is microseconds here.
  if (dialect === 'v1') api.path = `/write?db=${encodeURIComponent(bucket)}&precision=u`
  return api
}

const away = (sentence: string): Delivery & { kind: 'away' } => ({ kind: 'away', sentence })

/** `Retry-After` in seconds; its other form, a date, is not used by these databases. */
function retryAfterMs(error: HttpError): number | undefined {
  const header = error.headers?.['retry-after']
  const seconds = Number(Array.isArray(header) ? header[0] : header)
  return Number.isFinite(seconds) && seconds > 0 ? seconds * 1000 : undefined
}

const shortened = (text: string): string => text.replaceAll(/\s+/g, ' ').trim().slice(0, 300)
