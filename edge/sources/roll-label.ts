/**
 * Reads what a barcode scanner types from a roll's label: the site's own form where the config states one, a GS1 label, or else
 * the roll's bare id. Pure.
 *
 * GS1 application identifiers (GS1 General Specifications, section 3; from memory): (10) batch, (21) serial, (01) and (02) GTIN,
 * (240) additional product identification, (241) customer part number, (311n) length in m and (312n) width in m with n decimals,
 * (8001) roll products: width mm (4 digits), length m (5), core diameter mm (3), winding 0 out, 1 in, 9 undefined, joints (1).
 */
import { type ReadLabel, type RollFields, WINDINGS } from '../entries.ts'

/** FNC1 ends an element of variable length; a scanner types it as the control character GS. */
const GS = '\u001d'
/** What some scanners put before a GS1 code: ISO/IEC 15424 symbology identifiers of GS1-128, DataBar, DataMatrix and QR. */
const SYMBOLOGY = /^\](C1|e0|d2|Q3)/

const withoutGs = (text: string): string => (text.startsWith(GS) ? text.slice(1) : text)

type Take = (value: string, roll: RollFields, decimals: number) => void
interface Element {
  id: RegExp
  /** Digits of an element of fixed length; undefined runs to the next GS, at most so many characters. */
  fixed?: number
  most?: number
  take: Take
}

const ELEMENTS: readonly Element[] = [
  { id: /^8001/, fixed: 14, take: takeRollProduct },
  { id: /^311(\d)/, fixed: 6, take: (value, roll, decimals) => (roll.length = Number(value) / 10 ** decimals) },
  { id: /^312(\d)/, fixed: 6, take: (value, roll, decimals) => (roll.width = (Number(value) / 10 ** decimals) * 1000) },
  { id: /^01|^02/, fixed: 14, take: (value, roll) => (roll.material ??= value) },
  { id: /^240|^241/, most: 30, take: (value, roll) => (roll.material = value) },
  { id: /^21/, most: 20, take: (value, roll) => (roll.roll_id = value) },
  { id: /^10/, most: 20, take: (value, roll) => (roll.roll_id ??= value) },
]

function takeRollProduct(value: string, roll: RollFields): void {
  const [, width, length, winding] = /^(\d{4})(\d{5})\d{3}(\d)\d$/.exec(value) ?? []
  if (Number(width) > 0) roll.width = Number(width)
  if (Number(length) > 0) roll.length = Number(length)
  const facing = winding === '0' ? 'out' : winding === '1' ? 'in' : undefined
  if (facing !== undefined) roll.winding = facing
}

/** @returns undefined where the code is no GS1 element string from end to end. */
function readGs1(code: string): RollFields | undefined {
  const roll: RollFields = {}
  let rest = code
  while (rest !== '') {
    const element = ELEMENTS.find(({ id }) => id.test(rest))
    if (element === undefined) return undefined
    const [id = '', decimals] = element.id.exec(rest) ?? []
    const body = rest.slice(id.length)
    const end = element.fixed ?? (body.includes(GS) ? body.indexOf(GS) : body.length)
    const value = body.slice(0, end)
    const isFit =
      element.fixed === undefined
        ? value.length > 0 && value.length <= (element.most ?? 0)
        : new RegExp(`^\\d{${element.fixed}}$`).test(value)
    if (!isFit) return undefined
    element.take(value, roll, Number(decimals ?? 0))
    rest = withoutGs(body.slice(end))
  }
  return roll
}

/** The form that people read, "(10)A12(8001)…": brackets part the elements. */
const fromBrackets = (code: string): string =>
  code.replace(/\((\d{2,4})\)/g, (_, id: string, at: number) => (at === 0 ? id : `${GS}${id}`))

function readOwn(code: string, pattern: string): RollFields | undefined {
  const groups = new RegExp(pattern).exec(code)?.groups
  if (groups === undefined) return undefined
  const number = (text: string | undefined): number | undefined => {
    const value = Number(text)
    return text !== undefined && Number.isFinite(value) && value > 0 ? value : undefined
  }
  return {
    roll_id: groups['roll_id'],
    material: groups['material'],
    diameter: number(groups['diameter']),
    length: number(groups['length']),
    width: number(groups['width']),
    winding: WINDINGS.find((winding) => winding === groups['winding']),
  }
}

/** A bare number as it stands on a label: letters, digits and - _ . /, at least one digit, 3 to 30 in all (common practice, no source). */
const ROLL_NUMBER = /^(?=.*\d)[A-Za-z0-9][\w./-]{2,29}$/

/** Product codes of 12 to 14 digits end in a check digit (GS1 General Specifications, section 7.9; from memory): goods, not rolls. */
function isProductCode(text: string): boolean {
  if (!/^\d{12,14}$/.test(text)) return false
  const sum = [...text].reverse().reduce((total, digit, at) => total + Number(digit) * (at % 2 === 1 ? 3 : 1), 0)
  return sum % 10 === 0
}

/**
 * A label is what has the site's own form, or reads as GS1; where the site states no form, also a roll's bare number.
 * @param pattern - the config's `roll_label`.
 */
export function readRollLabel(code: string, pattern: string | undefined): ReadLabel {
  const text = code.trim()
  const own = pattern === undefined ? undefined : readOwn(text, pattern)
  if (own !== undefined) return { roll: own, isLabel: true }
  const isMarked = SYMBOLOGY.test(text) || text.includes(GS) || /^\(\d{2,4}\)/.test(text)
  // A bare number may begin like a GS1 code by chance: only a code that is marked as one is read so.
  const gs1 = isMarked ? readGs1(withoutGs(fromBrackets(text.replace(SYMBOLOGY, '')))) : undefined
  if (gs1 !== undefined) return { roll: gs1, isLabel: Object.keys(gs1).length > 0 }
  const isNumber = pattern === undefined && !isMarked && ROLL_NUMBER.test(text) && !isProductCode(text)
  return { roll: { roll_id: text }, isLabel: isNumber }
}
