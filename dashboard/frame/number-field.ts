/** Attributes of a field for a number with a point or a comma, which says in the page's language what it takes. */
import type { TargetedEvent } from 'preact'
import { say } from '../messages.ts'

export const numberField = {
  inputMode: 'decimal',
  pattern: '[0-9]*[.,]?[0-9]*',
  autocomplete: 'off',
  onInvalid: ({ currentTarget: field }: TargetedEvent<HTMLInputElement>): void => {
    field.setCustomValidity('')
    // The browser's own words ask for a "format" and don't say which.
    if (!field.validity.valid) field.setCustomValidity(say('field.number_above_0'))
  },
  onInput: ({ currentTarget: field }: TargetedEvent<HTMLInputElement>): void => field.setCustomValidity(''),
} as const
