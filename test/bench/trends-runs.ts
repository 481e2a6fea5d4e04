/** Runs of invented splices through the charts, counted: false calls without a drift, and calls of a drift. */
import { TrendWatch } from '../../edge/trends/trend-watch.ts'
import { type PlantOptions, plantSplices } from './trends-plant.ts'

export interface FalseCalls {
  splices: number
  calls: number
  /** Calls by `metric/side`. */
  by: Map<string, number>
}

/** Nothing drifts, so every call is false. What was called is taken as usual at once, so that the next can be counted. */
export function falseCalls(plants: Iterable<PlantOptions>): FalseCalls {
  const counted: FalseCalls = { splices: 0, calls: 0, by: new Map() }
  for (const plant of plants) {
    const watch = new TrendWatch()
    for (const splice of plantSplices(plant)) {
      counted.splices += 1
      for (const { metric, side, called } of watch.add(splice)) {
        if (called === undefined) continue
        counted.calls += 1
        const name = `${metric}/${side ?? 'all'}/${called.kind}`
        counted.by.set(name, (counted.by.get(name) ?? 0) + 1)
        watch.chart({ metric, side })!.serviced()
      }
    }
  }
  return counted
}

/** Splices from the drift's beginning until stop length is called; undefined where it is not, or was called before. */
export function splicesToCall(plant: PlantOptions & { drift: { from: number } }): number | undefined {
  const watch = new TrendWatch()
  let i = 0
  for (const splice of plantSplices(plant)) {
    const hasCalled = watch.add(splice).some(({ metric, called }) => metric === 'stop' && called !== undefined)
    if (hasCalled && i >= plant.drift.from) return i - plant.drift.from + 1
    i += 1
  }
  return undefined
}
