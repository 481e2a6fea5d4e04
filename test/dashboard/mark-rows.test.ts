/** Words of a trace's marks: none over another, none outside. */
import { expect, it } from 'vitest'
import { placeMarks } from '../../dashboard/charts/mark-rows.ts'

const plot = { left: 50, right: 350 }

it('words that would lie over each other stand in rows, beside their lines', () => {
  const places = placeMarks(
    [
      { x: 200, width: 80, endsThere: true },
      { x: 210, width: 60, endsThere: false },
      { x: 215, width: 100, endsThere: false },
    ],
    plot,
    3,
  )
  expect(places).toEqual([
    { left: 116, row: 0 },
    { left: 214, row: 0 },
    { left: 219, row: 1 },
  ])
})

it('words at an end of the plot stay within it, and those without room are left out', () => {
  const mark = { x: 345, width: 100, endsThere: false }
  expect(placeMarks([mark, mark, mark, { ...mark, width: 301 }], plot, 2)).toEqual([
    { left: 250, row: 0 },
    { left: 250, row: 1 },
    undefined,
    undefined,
  ])
  expect(placeMarks([{ x: 60, width: 40, endsThere: true }], plot, 1)).toEqual([{ left: 50, row: 0 }])
})
