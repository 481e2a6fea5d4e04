/** Writes the published JSON Schema anew: `node edge/config/write-schema.ts`. A test holds the file equal to the schema. */
import { writeFileSync } from 'node:fs'
import { fileURLToPath } from 'node:url'
import { jsonSchemaText } from './schema.ts'

export const SCHEMA_FILE = fileURLToPath(new URL('../../config/lastwrap.schema.json', import.meta.url))

/** Returns the path of the file that was written. */
export function writeJsonSchema(file: string = SCHEMA_FILE): string {
  writeFileSync(file, jsonSchemaText())
  return file
}

if (import.meta.main) process.stdout.write(`Wrote ${writeJsonSchema()}\n`)
