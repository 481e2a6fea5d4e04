/** Error against horizon as an SVG, both axes logarithmic. */
export interface PlotPoint {
  horizonS: number
  errorS: number
  boundS: number
  nominalS: number
  lineS: number
}

const WIDTH = 760
const HEIGHT = 460
const LEFT = 70
const RIGHT = 190
const TOP = 30
const BOTTOM = 50
/** Of the series, by name, colour (readable for all kinds of colour sight) and dash. */
const SERIES = [
  ['lineS', 'line through diameter', '#999999', '2 4'],
  ['nominalS', 'caliper of the label', '#d55e00', '8 4'],
  ['errorS', 'this countdown', '#0072b2', ''],
  ['boundS', 'bound √(B² + σ_trig²)', '#000000', '4 2'],
] as const

export function plotErrors(points: readonly PlotPoint[]): string {
  if (points.length === 0) return '<svg xmlns="http://www.w3.org/2000/svg" width="10" height="10"/>'
  const values = points.flatMap((one) => SERIES.map(([key]) => one[key])).filter((one) => one > 0)
  const low = 10 ** Math.floor(Math.log10(Math.min(...values)))
  const high = 10 ** Math.ceil(Math.log10(Math.max(...values)))
  const horizons = points.map((one) => one.horizonS)
  const across = (s: number): number => {
    const from = Math.log(Math.min(...horizons))
    const to = Math.log(Math.max(...horizons, Math.min(...horizons) + 1))
    return LEFT + ((Math.log(s) - from) / (to - from)) * (WIDTH - LEFT - RIGHT)
  }
  const down = (value: number): number =>
    TOP + (1 - Math.log(value / low) / Math.log(high / low)) * (HEIGHT - TOP - BOTTOM)
  const parts: string[] = []
  for (let tick = low; tick <= high * 1.001; tick *= 10) {
    const y = down(tick).toFixed(1)
    parts.push(`<line x1="${LEFT}" x2="${WIDTH - RIGHT}" y1="${y}" y2="${y}" stroke="#ddd"/>`)
    parts.push(`<text x="${LEFT - 8}" y="${Number(y) + 4}" text-anchor="end">${Number(tick.toPrecision(1))}</text>`)
  }
  for (const horizonS of horizons) {
    const name = horizonS >= 60 ? `${horizonS / 60} min` : `${horizonS} s`
    parts.push(`<text x="${across(horizonS).toFixed(1)}" y="${HEIGHT - 28}" text-anchor="middle">${name}</text>`)
  }
  parts.push(`<text x="${(LEFT + WIDTH - RIGHT) / 2}" y="${HEIGHT - 8}" text-anchor="middle">time to the cycle</text>`)
  parts.push(
    `<text x="14" y="${HEIGHT / 2}" transform="rotate(-90 14 ${HEIGHT / 2})" text-anchor="middle">RMS error, s</text>`,
  )
  const ends: number[] = []
  const last = points.reduce((a, b) => (b.horizonS > a.horizonS ? b : a))
  for (const [key, name, colour, dash] of SERIES) {
    const shown = points.filter((one) => one[key] > 0)
    const path = shown.map((one) => `${across(one.horizonS).toFixed(1)},${down(one[key]).toFixed(1)}`).join(' ')
    const dashed = dash === '' ? '' : ` stroke-dasharray="${dash}"`
    parts.push(`<polyline points="${path}" fill="none" stroke="${colour}" stroke-width="2"${dashed}/>`)
    let y = down(last[key])
    while (ends.some((other) => Math.abs(other - y) < 16)) y += 4
    ends.push(y)
    parts.push(`<text x="${WIDTH - RIGHT + 8}" y="${(y + 4).toFixed(1)}" fill="${colour}">${name}</text>`)
  }
  return `<svg xmlns="http://www.w3.org/2000/svg" width="${WIDTH}" height="${HEIGHT}" font-family="sans-serif" font-size="13"><rect width="100%" height="100%" fill="#fff"/>${parts.join('')}</svg>\n`
}
