/** What a countdown on a page says, in s: `42min`, `2:10min`, `45s`. */
export const secondsShown = (text: string): number => {
  const [minutes = '', seconds] = text.split(':')
  if (seconds !== undefined) return Number.parseInt(minutes, 10) * 60 + Number.parseInt(seconds, 10)
  return Number.parseInt(minutes, 10) * (text.endsWith('min') ? 60 : 1)
}
