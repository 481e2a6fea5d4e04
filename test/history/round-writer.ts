/**
 * A process that writes round after round into a store until it is killed, and says each round once it is durable:
 * `node round-writer.ts FILE FIRST_ROUND`.
 */
import { writeSync } from 'node:fs'
import { systemClock } from '../../edge/clock.ts'
import { DEFAULT_KEEP, openStore } from '../../edge/history/sqlite-store.ts'
import { forecastOf, pointsOf, SPLICE_ROUNDS, spliceOf, spooledOf } from './rounds.ts'

const [path = '', firstRound = '0'] = process.argv.slice(2)
const store = openStore(path, { clock: systemClock, keep: DEFAULT_KEEP, flushEverySecond: false })
for (let round = Number(firstRound); ; round += 1) {
  store.addSignals(pointsOf(round))
  store.addForecasts([forecastOf(round)])
  store.addTrace(spliceOf(round).id, pointsOf(round))
  store.spool(spooledOf(round))
  store.putSnapshot('round', round, { round })
  // A splice commits at once, and all that waited with it; every third round ends with an ordinary commit.
  if (round % SPLICE_ROUNDS === 0) store.flush()
  else store.putSplice(spliceOf(round))
  if (store.trouble() !== undefined) throw new Error(store.trouble())
  writeSync(1, `${round}\n`)
}
