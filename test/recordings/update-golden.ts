/** `npm run golden:update [case …]`: writes what `replay` says now into the cases. Read the difference before committing it. */
import { existsSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { CASES_FOLDER, EXPECTED_FILES, goldenCases, replayCase } from './golden.ts'

const wanted = process.argv.slice(2)
for (const name of goldenCases()) {
  if (wanted.length > 0 && !wanted.includes(name)) continue
  const written = await replayCase(name)
  const changed = EXPECTED_FILES.filter((file) => {
    const path = join(CASES_FOLDER, name, file)
    if (existsSync(path) && readFileSync(path, 'utf8') === written[file]) return false
    writeFileSync(path, written[file]!)
    return true
  })
  console.log(`${name}: ${changed.length === 0 ? 'unchanged' : `changed ${changed.join(', ')}`}`)
}
