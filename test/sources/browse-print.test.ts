import { expect, test } from 'vitest'
import type { BrowseRow } from '../../edge/browse.ts'
import { browseAsTable, browseAsTsv } from '../../edge/browse-print.ts'
import { matchesSearch } from '../../edge/sources/browse-row.ts'

const rows: BrowseRow[] = [
  {
    address: 'ns=1;s=A',
    valuePath: undefined,
    path: 'Plant/A',
    type: 'Double',
    unit: '°C',
    value: '1\t2',
    quality: 'good',
  },
  {
    address: 'ns=1;s=Long',
    valuePath: undefined,
    path: 'Plant/Long',
    type: 'Boolean',
    unit: undefined,
    value: undefined,
    quality: 'bad',
  },
]

test('a table aligns its columns and leaves out empty ones', () => {
  expect(browseAsTable(rows)).toBe(
    [
      'address      path        type     unit  value  quality',
      'ns=1;s=A     Plant/A     Double   °C    1\t2    good',
      'ns=1;s=Long  Plant/Long  Boolean               bad',
      '',
    ].join('\n'),
  )
  expect(browseAsTable([])).toBe('No variable found.\n')
})

test('tab-separated values keep one row a line', () => {
  expect(browseAsTsv(rows)).toBe(
    [
      'address\tvalue_path\tpath\ttype\tunit\tvalue\tquality',
      'ns=1;s=A\t\tPlant/A\tDouble\t°C\t1 2\tgood',
      'ns=1;s=Long\t\tPlant/Long\tBoolean\t\t\tbad',
      '',
    ].join('\n'),
  )
})

test('a broker, which knows no quality, has no column for it', () => {
  const topics = rows.map((row) => ({ ...row, quality: undefined }))
  expect(browseAsTsv(topics).split('\n')[0]).toBe('address\tvalue_path\tpath\ttype\tunit\tvalue')
  expect(browseAsTable(topics)).not.toContain('quality')
})

test('all words have to stand somewhere, in any case', () => {
  expect(matchesSearch('press SPEED', 'ns=2;s=Press.LineSpeed')).toBe(true)
  expect(matchesSearch('press length', 'ns=2;s=Press.LineSpeed')).toBe(false)
  expect(matchesSearch(undefined, '')).toBe(true)
})
