/** Splices of a shift or a week, counted by what they went through. Pure; one splice after another. */
import type { SpliceView } from '../api/messages.ts'
import { type Cause, OUTCOMES } from '../columns.ts'
import { isTakenBack, listedVerdict, peopleSaidOf, verdictOf, wasteOf } from '../splice-review.ts'
import { type CountsView, GROUPINGS, type Grouping, type ReportView } from '../trend-views.ts'
import { laplaceTrend, wilson } from './control-charts.ts'

/** Bad splices that a report lists; more are a trouble of another kind. */
const MOST_BAD = 200
/** Rows of one grouping; the rarest are left out. */
const MOST_ROWS = 30
/** Waste is what is lost: a returned stub comes again, and of an early splice's rest nobody has said yet. */
const NO_WASTE = ['stub', 'not_said']

/** What a splice went through, by the groupings; one that is not known is left out. */
export type GroupsOf = (splice: SpliceView) => Partial<Record<Grouping, { key: string; unit: string }>>

interface Sum {
  outcomes: Record<(typeof OUTCOMES)[number], number>
  lostS: number | null
  wasteM: number
}

const nothing = (): Sum => ({ outcomes: { good: 0, failed: 0, missed: 0, aborted: 0 }, lostS: null, wasteM: 0 })

export class Counts {
  readonly #groupsOf: GroupsOf
  readonly #all = nothing()
  readonly #causes = new Map<Cause | null, { splices: number; lostS: number | null; wasteM: number }>()
  readonly #groups = new Map<Grouping, Map<string, { unit: string; sum: Sum }>>()
  readonly #bad: ReportView['bad'] = []
  /** Number of each failed or missed splice among all. */
  readonly #failedAt: number[] = []
  #count = 0
  #open = 0
  #kilograms = 0
  #isWeighed = true
  #costs = new Map<string, number>()

  constructor(groupsOf: GroupsOf) {
    this.#groupsOf = groupsOf
  }

  /** Oldest first. */
  add(splice: SpliceView): void {
    const { outcome, cause } = verdictOf(splice)
    if (outcome === null) {
      if (!isTakenBack(splice)) this.#open += 1
      return
    }
    this.#count += 1
    const waste = wasteOf(splice).filter(({ part }) => !NO_WASTE.includes(part))
    const wasteM = waste.reduce((sum, { metres }) => sum + metres, 0)
    const lostS = lostSecondsOf(splice, outcome)
    for (const { kilograms, cost, currency } of waste) {
      if (kilograms === null) this.#isWeighed = false
      else this.#kilograms += kilograms
      if (cost !== null && currency !== null) this.#costs.set(currency, (this.#costs.get(currency) ?? 0) + cost)
    }
    const count = (sum: Sum): void => {
      sum.outcomes[outcome] += 1
      sum.lostS = plusKnown(sum.lostS, lostS)
      sum.wasteM += wasteM
    }
    count(this.#all)
    for (const [by, group] of Object.entries(this.#groupsOf(splice)) as [Grouping, { key: string; unit: string }][]) {
      const rows = this.#groups.get(by) ?? new Map<string, { unit: string; sum: Sum }>()
      this.#groups.set(by, rows)
      const row = rows.get(group.key) ?? { unit: group.unit, sum: nothing() }
      rows.set(group.key, row)
      count(row.sum)
    }
    if (outcome === 'good') return
    if (outcome !== 'aborted') this.#failedAt.push(this.#count)
    const { id, unwind, started, review } = splice
    this.#bad.push({ id, unwind, started, ...listedVerdict(splice), ...peopleSaidOf(review) })
    // What nobody said is not known, as what no rule knows.
    const why = cause ?? 'unknown'
    const known = this.#causes.get(why) ?? { splices: 0, lostS: null, wasteM: 0 }
    this.#causes.set(why, {
      splices: known.splices + 1,
      lostS: plusKnown(known.lostS, lostS),
      wasteM: known.wasteM + wasteM,
    })
  }

  view(): Omit<ReportView, 'from' | 'to' | 'unwind' | 'log' | 'is_whole' | 'register'> {
    const [cost] = this.#costs
    return {
      counts: countsOf(this.#all),
      open: this.#open,
      waste_kilograms: this.#isWeighed && this.#count > 0 ? this.#kilograms : null,
      // Two currencies make no sum.
      waste_cost: this.#costs.size === 1 ? cost![1] : null,
      currency: this.#costs.size === 1 ? cost![0] : null,
      between_failures: this.#failedAt.length < 2 ? null : this.#count / this.#failedAt.length,
      failure_trend: laplaceTrend(this.#failedAt, this.#count) ?? null,
      causes: [...this.#causes]
        .map(([cause, { splices, lostS, wasteM }]) => ({ cause, splices, lost_seconds: lostS, waste: wasteM }))
        .sort((a, b) => b.splices - a.splices || (b.lost_seconds ?? 0) - (a.lost_seconds ?? 0)),
      groups: GROUPINGS.filter((by) => this.#groups.has(by)).map((by) => ({
        by,
        rows: [...this.#groups.get(by)!]
          .map(([key, { unit, sum }]) => ({ key, unit, ...countsOf(sum) }))
          .sort((a, b) => b.splices - a.splices)
          .slice(0, MOST_ROWS)
          .sort((a, b) => a.key.localeCompare(b.key, 'en', { numeric: true })),
      })),
      bad: this.#bad.slice(-MOST_BAD).reverse(),
    }
  }
}

/** Null where it says nothing: of a good one, and where a person alone saw it and nobody measured how long the line was down. */
const lostSecondsOf = ({ details, review }: SpliceView, outcome: (typeof OUTCOMES)[number]): number | null =>
  details.down_seconds ?? (outcome === 'good' || review?.by_hand === true ? null : 0)

/** The sum of what is known. */
const plusKnown = (sum: number | null, value: number | null): number | null =>
  value === null ? sum : (sum ?? 0) + value

function countsOf({ outcomes, lostS, wasteM }: Sum): CountsView {
  const splices = OUTCOMES.reduce((sum, outcome) => sum + outcomes[outcome], 0)
  // Where all were good nothing was lost.
  const lost_seconds = lostS ?? (splices === outcomes.good ? 0 : null)
  return { splices, ...outcomes, success: wilson(outcomes.good, splices) ?? null, lost_seconds, waste: wasteM }
}
