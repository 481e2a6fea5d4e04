/** Every tag with what it means, its value, quality, age, rate and gaps; what needs a look first. */
import { Fragment } from 'preact'
import { useState } from 'preact/hooks'
import type { SignalsView, TagUseView, TagView } from '../../edge/api/messages-signals.ts'
import { Icon } from '../frame/icons.tsx'
import { say } from '../messages.ts'
import { ageInWords } from '../times.ts'
import { formatNumber, formatQuantity, quantityOf } from '../units.ts'

/** Where a person should look: no value, doubtful, refused, or silent now and then. */
export const isSuspect = ({ quality, gaps, uses }: TagView): boolean =>
  quality !== 'good' || gaps > 0 || uses.some(({ stale, refused, ignored }) => stale || refused !== null || ignored > 0)

/** A count has none. */
const decimalsOf = (value: number, unit: string): number =>
  unit === '' && Number.isInteger(value) ? 0 : Math.abs(value) >= 100 ? 1 : 2

/** A rate below ten a minute has a decimal: one report in two minutes is not none. */
const rateText = (perMinute: number): string => formatNumber(perMinute, perMinute > 0 && perMinute < 10 ? 1 : 0)

const valueText = ({ value, unit }: TagUseView): string => {
  if (value === null) return say('value.unknown')
  if (typeof value === 'boolean') return say(value ? 'value.yes' : 'value.no')
  if (typeof value === 'string') return value === '' ? say('value.unknown') : value
  const quantity = quantityOf(unit)
  if (quantity !== undefined) return formatQuantity(value, quantity, decimalsOf(value, unit))
  return `${formatNumber(value, decimalsOf(value, unit))} ${unit}`.trimEnd()
}

/** Figures of a tag's own number: enough to find it again on the machine's screen. */
const RAW_DECIMALS = 3
const plain = (value: number): string => formatNumber(Number(value.toFixed(RAW_DECIMALS)), decimalsIn(value))
const decimalsIn = (value: number): number => {
  const [, after = ''] = String(Number(value.toFixed(RAW_DECIMALS))).split('.')
  return after.length
}

/** What the tag itself says, to hold against the machine's own screen. */
const rawText = ({ raw, scaled, bit, inverted, tag_unit: unit }: TagUseView): string | undefined => {
  if (raw === null) return undefined
  const value = typeof raw === 'number' ? plain(raw) : String(raw)
  const turned = inverted ? ` ${say('signals.inverted')}` : ''
  if (bit !== null) return `${say('signals.raw_bit', { word: value, bit })}${turned}`
  if (scaled !== null)
    return say('signals.raw_scaled', { raw: value, value: `${plain(scaled)} ${unit ?? ''}`.trimEnd() })
  return `${say('signals.raw', { value: `${value} ${unit ?? ''}`.trimEnd() })}${turned}`
}

const Use = ({ use, name }: { use: TagUseView; name: string }) => (
  <li>
    <strong>{valueText(use)}</strong> {use.signal}
    {use.spindle !== null && ` ${use.spindle}`}, {name}
    {rawText(use) !== undefined && <span class="question raw"> {rawText(use)}</span>}
    {use.refused !== null && (
      <span class="tag-bad"> {say('signals.refused', { value: use.refused.slice(0, 40) })}</span>
    )}
    {/* What it says now tells more than how often it was none. */}
    {use.refused === null && use.ignored > 0 && (
      <span class="question">
        {' '}
        {say(use.ignored === 1 ? 'signals.ignored.one' : 'signals.ignored', { count: use.ignored })}
      </span>
    )}
    {use.stale && <span class="tag-bad"> {say('signals.stale')}</span>}
  </li>
)

/** A tag whose every report was refused did report. */
export const qualityOf = ({ quality, uses }: TagView) => {
  if (quality !== null) return `quality.${quality}` as const
  return uses.some(({ refused, ignored }) => refused !== null || ignored > 0) ? 'quality.no_value' : 'quality.none'
}

/** An address may break behind its dots and underscores, never inside a word. */
export const addressParts = (address: string): string[] => address.split(/(?<=[._])/)

const gapText = ({ gaps, longest_gap_seconds: longest }: TagView): string =>
  gaps === 0 ? say('signals.no_gaps') : say('signals.gaps', { count: gaps, longest: ageInWords(longest) })

export const TagTable = ({ view, nameOf }: { view: SignalsView; nameOf: (unwind: string) => string }) => {
  const [isOnlySuspect, setOnlySuspect] = useState(false)
  const suspects = view.tags.filter(isSuspect)
  const shown =
    isOnlySuspect && suspects.length > 0 ? suspects : [...suspects, ...view.tags.filter((tag) => !isSuspect(tag))]
  return (
    <>
      {suspects.length === 0 ? (
        <p>{say('signals.all_well', { all: view.tags.length })}</p>
      ) : (
        <label class="only">
          <input
            type="checkbox"
            checked={isOnlySuspect}
            onChange={(event) => setOnlySuspect(event.currentTarget.checked)}
          />
          {say('signals.only_suspect', { count: suspects.length, all: view.tags.length })}
        </label>
      )}
      <div class="list-box">
        <table class="list cards tags">
          <thead>
            <tr>
              <th scope="col">{say('signals.tag')}</th>
              <th scope="col">{say('signals.value')}</th>
              <th scope="col">{say('signals.quality')}</th>
              <th scope="col" class="number">
                {say('signals.age')}
              </th>
              <th scope="col" class="number">
                {say('signals.rate')}
              </th>
              <th scope="col">{say('signals.gaps.head')}</th>
            </tr>
          </thead>
          <tbody>
            {shown.map((tag) => (
              <tr key={`${tag.source} ${tag.address}`} data-suspect={isSuspect(tag)}>
                <th scope="row">
                  <code>
                    {addressParts(tag.address).map((part, index) => (
                      <Fragment key={index}>
                        {index > 0 && <wbr />}
                        {part}
                      </Fragment>
                    ))}
                  </code>
                  <span class="question">{tag.source}</span>
                  {tag.stated_unit !== null && (
                    <span class="question">{say('signals.stated_unit', { unit: tag.stated_unit })}</span>
                  )}
                </th>
                <td>
                  <ul class="uses">
                    {tag.uses.map((use) => (
                      <Use key={`${use.unwind} ${use.signal} ${use.spindle}`} use={use} name={nameOf(use.unwind)} />
                    ))}
                  </ul>
                </td>
                <td class="tag-quality" data-label={say('signals.quality')}>
                  {tag.quality !== 'good' && <Icon name="medium" class="tag-icon" />} {say(qualityOf(tag))}
                </td>
                <td class="number" data-label={say('signals.age')}>
                  {tag.age_seconds === null ? say('value.unknown') : ageInWords(tag.age_seconds)}
                </td>
                <td class="number" data-label={say('signals.rate')}>
                  {tag.reports_per_minute === null
                    ? say('value.unknown')
                    : say('signals.per_minute', { count: rateText(tag.reports_per_minute) })}
                </td>
                <td data-label={say('signals.gaps.head')}>{gapText(tag)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </>
  )
}
