/**
 * What stands in one row of a lane, at which width of letters, and what takes turns where not all of it fits. Pure: how wide a
 * text is comes in as an argument. Heights never give way below 16 arcmin: letters get narrower instead, down to what stays
 * legible (characters at least half as wide as high: ISO 9241-303, from memory).
 */
import type { IconName } from '../frame/icons.tsx'

export interface Item {
  part: string
  text: string
  /** 20 arcmin where the row has room for it; else, and where not set, 16. */
  isBig?: boolean
  isBold?: boolean
  icon?: IconName
  /** Said one after the other in its place where the whole does not fit; one alone is a shorter word for it. */
  halves?: readonly string[]
  /** 0 never leaves; 1 leaves before that, and 2 first: those of one rank take turns. */
  rank: 0 | 1 | 2
  isSoft?: boolean
  /** On a ground of its own, which takes room beside it. */
  isOnBar?: boolean
  /** In an outline, which takes as much room as such a ground. */
  isFramed?: boolean
  /** What its row is about: it keeps height and weight longest. */
  isLead?: boolean
}

export interface Fonts {
  bigPx: number
  midPx: number
}

/** Width in px of a text in letters of this height and weight. */
export type WidthOf = (text: string, fontPx: number, isBold: boolean) => number

export interface RowPlan {
  items: readonly (Item & { fontPx: number })[]
  /** All letters of the row are narrowed to this share of their width. */
  scale: number
  /** px, before narrowing. */
  gapPx: number
}

export const NARROWEST = 0.58
/** Capitals are then still half as wide as high, though not every figure in a wide font; only beyond that something has to go. */
const LAST_RESORT = 0.47
/** Before letters get narrower than this, something that is worth less is given up, share. */
const NARROWEST_IN_TURN = 0.62
/** Letters in bold are a fifth wider: below this share all but the lead do without. */
const NARROWEST_BOLD = 0.72
/** Drawing and measuring differ by fractions of a pixel, share. */
const SLACK = 0.995
/** Between items, and of an icon with its gap, and of a bar's two ends: shares of the font size. */
export const GAP_EM = 0.5
export const ICON_EM = 1.04
export const BAR_EM = 0.3

/** What a row still keeps; each is given up where else letters would get narrower than `narrowest`. */
interface Style {
  narrowest: number
  areFactsBold: boolean
  isLeadBold: boolean
  areFactsBig: boolean
  isLeadBig: boolean
  areWhole: boolean
  haveIcons: boolean
}

const ALL = {
  areFactsBold: true,
  isLeadBold: true,
  areFactsBig: true,
  isLeadBig: true,
  areWhole: true,
  haveIcons: true,
}
const NONE = {
  areFactsBold: false,
  isLeadBold: false,
  areFactsBig: false,
  isLeadBig: true,
  areWhole: false,
  haveIcons: false,
}
const STYLES: readonly Style[] = [
  { ...ALL, narrowest: NARROWEST_BOLD },
  { ...ALL, areFactsBold: false, narrowest: NARROWEST_IN_TURN },
  { ...ALL, areFactsBold: false, areFactsBig: false, narrowest: NARROWEST },
  { ...ALL, areFactsBold: false, areFactsBig: false, isLeadBold: false, narrowest: NARROWEST },
  { ...ALL, areFactsBold: false, areFactsBig: false, isLeadBold: false, areWhole: false, narrowest: NARROWEST },
  { ...NONE, narrowest: NARROWEST },
  // 16 arcmin are the least that is read; a verb in its 20 that hides whether the roll is ready is worth less.
  { ...NONE, isLeadBig: false, narrowest: LAST_RESORT },
]

const HALVES = [0, 1] as const

type Sized = Item & { fontPx: number }

/** @param half - counts on with each time round, so that every half comes though its item is not in each turn. */
const styled = (items: readonly Item[], style: Style, fonts: Fonts, half: number): Sized[] =>
  items.map(({ icon, ...item }) => {
    const isLead = item.isLead === true
    return {
      ...item,
      isBold: item.isBold === true && (isLead ? style.isLeadBold : style.areFactsBold),
      fontPx: item.isBig === true && (isLead ? style.isLeadBig : style.areFactsBig) ? fonts.bigPx : fonts.midPx,
      text: style.areWhole || item.halves === undefined ? item.text : item.halves[half % item.halves.length]!,
      ...(icon !== undefined && (isLead || style.haveIcons) ? { icon } : {}),
    }
  })

const widthOfItem = ({ text, fontPx, isBold, icon, isOnBar, isFramed }: Sized, widthOf: WidthOf): number =>
  widthOf(text, fontPx, isBold === true) +
  (icon === undefined ? 0 : ICON_EM * fontPx) +
  (isOnBar === true || isFramed === true ? BAR_EM * fontPx : 0)

/**
 * @param roomPx - width of the row.
 * @param turn - counts on every few seconds.
 */
export const planRow = (
  items: readonly Item[],
  roomPx: number,
  turn: number,
  fonts: Fonts,
  widthOf: WidthOf,
): RowPlan => {
  const gapPx = GAP_EM * fonts.midPx
  const share = (some: readonly Sized[]): number => {
    const natural =
      some.reduce((sum, item) => sum + widthOfItem(item, widthOf), 0) + gapPx * Math.max(0, some.length - 1)
    return natural <= 0 ? 1 : Math.min(1, (SLACK * roomPx) / natural)
  }
  const inOrder = (some: readonly Item[]) => items.filter((item) => some.includes(item))
  const standing = items.filter(({ rank }) => rank === 0)
  const sized = (some: readonly Item[], style: Style, half = turn) => styled(inOrder(some), style, fonts, half)
  const holds = (some: readonly Item[], one: Style) =>
    HALVES.every((half) => share(sized(some, one, half)) >= one.narrowest)
  // Each that takes turns has to find its place in some turn, if it can without the last resort.
  const inTurn = items.filter(({ rank }) => rank === 2)
  const style =
    STYLES.slice(0, -1).find(
      (one) => inTurn.every((item) => holds([...standing, item], one)) && holds(standing, one),
    ) ?? STYLES.find((one) => holds(standing, one))
  if (style === undefined) {
    // Not even what decides fits beside each other: the first stays, the rest takes turns.
    const [first, ...rest] = standing
    const now = rest.length === 0 ? [] : [rest[turn % rest.length]!]
    const shown = sized(first === undefined ? now : [first, ...now], STYLES.at(-1)!)
    return { items: shown, scale: Math.max(LAST_RESORT, share(shown)), gapPx }
  }
  const fits = (some: readonly Item[]) => holds(some, style) && !(areTornApart(some) && !style.areWhole)
  const turns = inTurns(items, standing, fits)
  // One width for all turns and halves: what stands must not jump.
  const scale = Math.min(...turns.flatMap((one) => HALVES.map((half) => share(sized(one, style, half)))))
  return { items: sized(turns[turn % turns.length]!, style, Math.floor(turn / turns.length)), scale, gapPx }
}

/** Halves of two texts beside each other would read as one. */
const areTornApart = (some: readonly Item[]): boolean =>
  some.filter(({ rank, halves }) => rank > 0 && halves !== undefined && halves.length > 1).length > 1

/** What is shown in each turn: what stands, with as many of the others as fit beside it; what fits nowhere is left out. */
const inTurns = (
  items: readonly Item[],
  standing: readonly Item[],
  fits: (some: readonly Item[]) => boolean,
): (readonly Item[])[] => {
  const kept = [...standing]
  for (const item of items.filter(({ rank }) => rank === 1)) if (fits([...kept, item])) kept.push(item)
  const turns: Item[][] = []
  for (const item of items.filter(({ rank }) => rank === 2)) {
    const last = turns.at(-1)
    if (last !== undefined && fits([...kept, ...last, item])) last.push(item)
    else if (fits([...kept, item])) turns.push([item])
  }
  return turns.length === 0 ? [kept] : turns.map((some) => [...kept, ...some])
}
