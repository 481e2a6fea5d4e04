/** The list's filters. Every change goes into the address by itself; there is no button to forget. */
import { CAUSES, OUTCOMES } from '../../edge/columns.ts'
import { SearchField } from '../frame/search-field.tsx'
import { say } from '../messages.ts'
import { fromLocalField, toLocalField, zoneOfYear } from '../times.ts'
import { UnwindOptions } from '../unwind-options.tsx'
import type { Filters } from './filters.ts'

export interface FilterFormProps {
  filters: Filters
  unwinds: readonly { unwind: string; name: string }[]
  zone: string
  onChange: (filters: Filters) => void
}

const TimeField = ({ name, props }: { name: 'from' | 'to'; props: FilterFormProps }) => {
  const { filters, zone, onChange } = props
  const tMs = Date.parse(filters[name] ?? '')
  return (
    <label>
      {say(`filter.${name}`)}
      <input
        type="datetime-local"
        name={name}
        value={Number.isNaN(tMs) ? '' : toLocalField(tMs, zone)}
        onChange={(event) => {
          const chosen = fromLocalField(event.currentTarget.value, zone)
          onChange({ ...filters, [name]: chosen === undefined ? undefined : new Date(chosen).toISOString() })
        }}
      />
    </label>
  )
}

export const FilterForm = (props: FilterFormProps) => {
  const { filters, unwinds, zone, onChange } = props
  const hasAny = Object.values(filters).some((value) => value !== undefined)
  return (
    <form class="filters" onSubmit={(event) => event.preventDefault()}>
      <label>
        {say('filter.unwind')}
        <select
          name="unwind"
          value={filters.unwind ?? ''}
          onChange={(event) => onChange({ ...filters, unwind: event.currentTarget.value || undefined })}
        >
          <option value="">{say('splices.all')}</option>
          <UnwindOptions unwinds={unwinds} />
        </select>
      </label>
      <label>
        {say('filter.outcome')}
        <select
          name="outcome"
          value={filters.outcome ?? ''}
          onChange={(event) =>
            onChange({ ...filters, outcome: OUTCOMES.find((outcome) => outcome === event.currentTarget.value) })
          }
        >
          <option value="">{say('splices.all')}</option>
          {OUTCOMES.map((outcome) => (
            <option key={outcome} value={outcome}>
              {say(`outcome.${outcome}`)}
            </option>
          ))}
        </select>
      </label>
      <label>
        {say('column.cause')}
        <select
          name="cause"
          value={filters.cause ?? ''}
          onChange={(event) =>
            onChange({ ...filters, cause: CAUSES.find((cause) => cause === event.currentTarget.value) })
          }
        >
          <option value="">{say('splices.all')}</option>
          {CAUSES.map((cause) => (
            <option key={cause} value={cause}>
              {say(`cause.${cause}`)}
            </option>
          ))}
        </select>
      </label>
      <SearchField
        label={say('filter.text')}
        name="text"
        maxLength={100}
        value={filters.text ?? ''}
        onChange={(text) => onChange({ ...filters, text: text || undefined })}
      />
      <TimeField name="from" props={props} />
      <TimeField name="to" props={props} />
      {hasAny && (
        <button type="button" onClick={() => onChange({})}>
          {say('splices.clear')}
        </button>
      )}
      <span class="filter-zone">{say('filter.zone', { zone: zoneOfYear(Date.now(), zone) })}</span>
    </form>
  )
}
