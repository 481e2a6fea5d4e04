/**
 * The time-series database as the daemon sees it: results in, and how it is doing. Joins points, queue and client; where no
 * database is configured there is none of these.
 */
import type { SpliceView } from '../api/messages.ts'
import type { Clock } from '../clock.ts'
import type { AlarmRow, StoredForecast } from '../columns.ts'
import type { DatabaseConfig } from '../config/config.ts'
import type { SignalPoint, Store } from '../history/store.ts'
import type { JointEventRow } from '../joint-columns.ts'
import { BufferedOutput } from './buffered.ts'
import { type DatabaseSecrets, InfluxSender } from './influx.ts'
import type { Output, OutputHealth } from './output.ts'
import { alarmPoint, forecastPoint, jointPoint, signalPoints, splicePoint } from './points.ts'

export interface DatabaseOutputOptions {
  /** Name of the site, for the tag. */
  site: string
  config: DatabaseConfig
  secrets: DatabaseSecrets
  store: Store
  clock: Clock
}

export class DatabaseOutput implements Output {
  private readonly site: string
  private readonly output: BufferedOutput

  /** @throws LastwrapError where the config's URL can't be one. */
  constructor({ site, config, secrets, store, clock }: DatabaseOutputOptions) {
    this.site = site
    this.output = new BufferedOutput({ store, sender: new InfluxSender(config, secrets), clock })
  }

  forecasts(rows: readonly StoredForecast[]): void {
    this.output.write(rows.map((row) => forecastPoint(this.site, row)))
  }

  signals(points: readonly SignalPoint[]): void {
    this.output.write(signalPoints(this.site, points))
  }

  /** Each revision of a splice: the newest takes the place of the earlier ones. */
  splice(splice: SpliceView): void {
    this.output.write([splicePoint(this.site, splice)])
  }

  alarm(row: AlarmRow): void {
    this.output.write([alarmPoint(this.site, row)])
  }

  jointEvent(row: JointEventRow): void {
    this.output.write([jointPoint(this.site, row)])
  }

  start(): void {
    this.output.start()
  }

  health(): OutputHealth {
    return this.output.health()
  }

  stop(): Promise<void> {
    return this.output.stop()
  }
}
