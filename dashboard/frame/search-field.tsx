/** A search field whose words are the typist's while they are typed: what arrives meanwhile never writes over them. */
import { useEffect, useRef, useState } from 'preact/hooks'

/** Who pauses so long has finished a word, ms. */
const PAUSE_MS = 700

export interface SearchFieldProps {
  label: string
  name: string
  /** What is searched for now. */
  value: string
  maxLength?: number
  /** After a pause, Enter or leaving the field; trimmed, and only where it differs. */
  onChange: (text: string) => void
}

export const SearchField = ({ label, name, value, maxLength, onChange }: SearchFieldProps) => {
  const [typed, setTyped] = useState<string | undefined>(undefined)
  // A timer outlives the render that set it: it has to go by the newest filters.
  const newest = useRef({ value, onChange })
  newest.current = { value, onChange }
  const timer = useRef(0)
  useEffect(() => () => clearTimeout(timer.current), [])
  const apply = (text: string): void => {
    clearTimeout(timer.current)
    if (text.trim() !== newest.current.value) newest.current.onChange(text.trim())
  }
  return (
    <label>
      {label}
      <input
        type="search"
        name={name}
        {...(maxLength !== undefined && { maxLength })}
        value={typed ?? value}
        onInput={(event) => {
          const text = event.currentTarget.value
          setTyped(text)
          clearTimeout(timer.current)
          timer.current = Number(setTimeout(() => apply(text), PAUSE_MS))
        }}
        onKeyDown={(event) => {
          if (event.key === 'Enter') apply(event.currentTarget.value)
        }}
        onBlur={(event) => {
          apply(event.currentTarget.value)
          setTyped(undefined)
        }}
      />
    </label>
  )
}
