/** What people found, did and noted about a splice, in words for a list. */
import type { PeopleSaid } from '../../edge/splice-review.ts'
import { say, sayName } from '../messages.ts'

/** Empty where nobody said anything. */
export const peopleSaidInWords = ({ thing, done, notes }: PeopleSaid): string =>
  [
    ...(thing === null ? [] : [sayName('thing', thing)]),
    ...notes,
    ...(done.length === 0 ? [] : [say('people.done', { done: done.map((one) => sayName('done', one)).join(', ') })]),
  ].join(' · ')
