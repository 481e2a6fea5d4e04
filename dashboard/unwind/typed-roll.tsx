/** What a person reads off the roll and types, where its label cannot be scanned or does not say it all. */
import type { EnteredRollView } from '../../edge/api/messages-entries.ts'
import { numberField } from '../frame/number-field.ts'
import { say } from '../messages.ts'
import { type Quantity, toShown, unitOf } from '../units.ts'
import { filled, quantityIn, textIn } from './fields.ts'

/** As this field takes it: to seven figures, so that a length in feet comes back as the same metres. */
const shown = (value: number | null | undefined, quantity: Quantity): string =>
  value === null || value === undefined ? '' : String(Number(toShown(value, quantity).toPrecision(7)))

export interface TypedRollProps {
  /** What is known of the roll so far stands in the fields: what is entered takes the place of it all. */
  roll: EnteredRollView | null
  materials: readonly string[]
  onEnter: (body: object) => void
}

export const TypedRoll = ({ roll, materials, onEnter }: TypedRollProps) => {
  const submit = (event: SubmitEvent): void => {
    event.preventDefault()
    const fields = new FormData(event.currentTarget as HTMLFormElement)
    onEnter(
      filled({
        roll_id: textIn(fields, 'roll_id'),
        material: textIn(fields, 'material'),
        diameter: quantityIn(fields, 'diameter', 'diameter'),
        length: quantityIn(fields, 'length', 'length'),
        width: quantityIn(fields, 'width', 'diameter'),
        winding: textIn(fields, 'winding'),
        hold: fields.get('hold') === 'on' ? true : undefined,
      }),
    )
  }
  return (
    <form class="entry" onSubmit={submit}>
      <div class="entry-fields">
        <label>
          {say('waiting.roll_id')}
          <input name="roll_id" maxLength={100} autocomplete="off" defaultValue={roll?.roll_id ?? ''} />
        </label>
        <label>
          {say('waiting.material')}
          <input
            name="material"
            maxLength={100}
            autocomplete="off"
            list="materials"
            defaultValue={roll?.material ?? ''}
          />
        </label>
        <datalist id="materials">
          {materials.map((material) => (
            <option key={material} value={material} />
          ))}
        </datalist>
        <label>
          {say('waiting.diameter', { unit: unitOf('diameter') })}
          <input name="diameter" {...numberField} defaultValue={shown(roll?.diameter, 'diameter')} />
        </label>
        <label>
          {say('waiting.length', { unit: unitOf('length') })}
          <input name="length" {...numberField} defaultValue={shown(roll?.length, 'length')} />
        </label>
        <label>
          {say('waiting.width', { unit: unitOf('diameter') })}
          <input name="width" {...numberField} defaultValue={shown(roll?.width, 'diameter')} />
        </label>
        <label>
          {say('waiting.winding')}
          <select name="winding">
            <option value="">{say('value.unknown')}</option>
            {(['out', 'in'] as const).map((winding) => (
              <option key={winding} value={winding} selected={roll?.winding === winding}>
                {say(`winding.${winding}`)}
              </option>
            ))}
          </select>
        </label>
        <label class="tick tap">
          <input type="checkbox" name="hold" defaultChecked={roll?.hold === true} />
          {say('waiting.hold')}
        </label>
      </div>
      <button type="submit">{say('entry.enter')}</button>
    </form>
  )
}
