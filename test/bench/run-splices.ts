/** One seed of one machine: which splices were recognised as what, each miss as a line with its seed. */
import { judgeSplices } from '../pipeline/judge.ts'
import { replaySimulation } from '../pipeline/replay-simulation.ts'
import { simulate } from '../truth/line-simulator.ts'
import { type SpliceMachine, spoiledScenario } from './splice-machines.ts'

export const MISSES = ['lost', 'invented', 'outcome', 'cause', 'start', 'stop'] as const
export type Miss = (typeof MISSES)[number]

export interface Recognised {
  splices: number
  /** Failed and missed among them, and how many of those were told as such. */
  bad: number
  badTold: number
  misses: { kind: Miss; text: string }[]
}

const MOST_START_OFF_S = 0.5

export function runSplices(machine: SpliceMachine, seed: number): Recognised {
  const run = simulate(spoiledScenario(machine, seed))
  const verdict = judgeSplices(run, replaySimulation(run).splices)
  const misses: Recognised['misses'] = []
  const miss = (kind: Miss, text: string): void => {
    misses.push({ kind, text: `${machine.name}, seed ${seed}: ${text}` })
  }
  const isBad = (outcome: string | undefined): boolean => outcome === 'failed' || outcome === 'missed'
  for (const one of verdict.lost) miss('lost', `${new Date(one.startedTMs).toISOString()} ${one.outcome} ${one.cause}`)
  for (const one of verdict.invented) miss('invented', `${one.started} ${one.outcome} ${one.cause}`)
  for (const { truth, said } of verdict.pairs) {
    const where = `${said.started} ${truth.outcome} ${truth.cause ?? ''}`
    if (said.outcome !== truth.outcome) miss('outcome', `${where} said ${said.outcome} ${said.cause}`)
    else {
      const byRule = truth.cause === 'no_new_roll' && machine.mapped === 'required' ? 'ran_out' : (truth.cause ?? null)
      if (said.cause !== byRule) miss('cause', `${where} said ${said.cause}`)
    }
    if (truth.outcome === 'missed') continue
    const startS = (Date.parse(said.started) - truth.startedTMs) / 1000
    if (Math.abs(startS) > MOST_START_OFF_S) miss('start', `${where} off by ${startS.toFixed(2)} s`)
    if (truth.outcome !== 'good' || run.scenario.method === 'flying') continue
    const stopS = (said.stopped_seconds ?? Number.NaN) - truth.stoppedSeconds
    const allowed = Math.max(0.1 * truth.stoppedSeconds, (2 * run.scenario.periodMs) / 1000)
    if (!(Math.abs(stopS) <= allowed))
      miss('stop', `${where} ${said.stopped_seconds?.toFixed(2)} for ${truth.stoppedSeconds.toFixed(2)}`)
  }
  const bad = verdict.pairs.filter(({ truth }) => isBad(truth.outcome))
  return {
    splices: verdict.pairs.length + verdict.lost.length,
    bad: bad.length + verdict.lost.filter(({ outcome }) => isBad(outcome)).length,
    badTold: bad.filter(({ said }) => isBad(said.outcome ?? undefined)).length,
    misses,
  }
}
