/** What stands in the fields of a form, as the API takes it. */
import { fromShown, type Quantity } from '../units.ts'

export const textIn = (fields: FormData, name: string): string | undefined => {
  const text = String(fields.get(name) ?? '').trim()
  return text === '' ? undefined : text
}

/** A number with a point or a comma, in the unit that this browser shows; undefined where the field is empty or holds none. */
export const quantityIn = (fields: FormData, name: string, quantity: Quantity): number | undefined => {
  const text = textIn(fields, name)?.replace(',', '.')
  const number = Number(text)
  return text === undefined || !Number.isFinite(number) ? undefined : fromShown(number, quantity)
}

/** Without what is undefined: it is not said. */
export const filled = (body: Record<string, unknown>): Record<string, unknown> =>
  Object.fromEntries(Object.entries(body).filter(([, value]) => value !== undefined))
