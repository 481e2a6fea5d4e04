/**
 * Every property test begins with the same seed, so that what passes once passes again and a change is judged by what it
 * changed. `LASTWRAP_SEED=7 npm test` looks elsewhere; `LASTWRAP_SEED=random` somewhere new each time.
 */
import fc from 'fast-check'

const seed = process.env['LASTWRAP_SEED'] ?? '1'
if (seed !== 'random') fc.configureGlobal({ seed: Number(seed) })
