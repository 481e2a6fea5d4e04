/** Colours, language, units and clock of this browser. */
import { useEffect, useState } from 'preact/hooks'
import { applyTheme, CLOCKS, chooseDisplay, currentDisplay, type Display, THEMES, UNIT_SYSTEMS } from '../display.ts'
import { LANGUAGES, say } from '../messages.ts'

/** A language by its own name: who looks for it may read no other. */
const ownName = (code: string): string => {
  const name = new Intl.DisplayNames([code], { type: 'language' }).of(code) ?? code
  return name.charAt(0).toLocaleUpperCase(code) + name.slice(1)
}

const OPTIONS: { [K in keyof Display]: readonly (readonly [Display[K], () => string])[] } = {
  theme: THEMES.map((theme) => [theme, () => say(`theme.${theme}`)]),
  language: [
    ['site', () => say('display.language.site')],
    ...LANGUAGES.map((code) => [code, () => ownName(code)] as const),
  ],
  units: UNIT_SYSTEMS.map((units) => [units, () => say(`display.units.${units}`)]),
  clock: CLOCKS.map((clock) => [clock, () => say(`display.clock.${clock}`)]),
}

const Choice = ({ name, onChoose }: { name: keyof Display; onChoose: (choice: Partial<Display>) => void }) => (
  <label>
    <span>{say(`display.${name}`)}</span>
    <select
      value={currentDisplay()[name]}
      onChange={(event) => onChoose({ [name]: event.currentTarget.value } as Partial<Display>)}
    >
      {OPTIONS[name].map(([value, words]) => (
        <option key={value} value={value}>
          {words()}
        </option>
      ))}
    </select>
  </label>
)

const wasOpen = (): boolean => (history.state as { isDisplayOpen?: boolean } | null)?.isDisplayOpen === true

export const DisplayChoice = () => {
  const [isOpen] = useState(wasOpen)
  useEffect(() => {
    if (isOpen) history.replaceState(null, '')
  }, [isOpen])
  const [isNotKept, setNotKept] = useState(false)
  const choose = (choice: Partial<Display>) => {
    const isKept = chooseDisplay(choice)
    applyTheme()
    setNotKept(!isKept)
    // Words, units and times are everywhere: the page begins anew with them.
    if (!isKept || choice.theme !== undefined) return
    // Who chooses one thing chooses the next: open again after that.
    history.replaceState({ isDisplayOpen: true }, '')
    location.reload()
  }
  return (
    <details class="display" open={isOpen}>
      <summary>{say('display.label')}</summary>
      <div class="display-choices">
        {(Object.keys(OPTIONS) as (keyof Display)[]).map((name) => (
          <Choice key={name} name={name} onChoose={choose} />
        ))}
        {isNotKept && <p role="alert">{say('display.not_kept')}</p>}
      </div>
    </details>
  )
}
