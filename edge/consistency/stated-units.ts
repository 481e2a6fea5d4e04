/** What servers themselves state of their units, beside what the tags say of each other. Pure. */
import type { ConsistencyView } from '../api/messages.ts'
import type { TagView } from '../api/messages-signals.ts'
import { tagAddress, type UnwindConfig } from '../config/config.ts'
import type { Messages } from '../messages/message.ts'
import { contradictionOf } from '../signals/stated-unit.ts'

/** The view with one more finding for each tag whose unit the server contradicts. */
export function withStatedUnits(
  view: ConsistencyView,
  config: UnwindConfig,
  tags: readonly Pick<TagView, 'source' | 'address' | 'stated_unit'>[],
  messages: Messages,
): ConsistencyView {
  const found = config.signals.flatMap((signal): ConsistencyView['findings'] => {
    const address = tagAddress(signal.tag)
    const tag = tags.find((one) => one.source === signal.tag.source && one.address === address)
    const contradiction = contradictionOf(signal, tag?.stated_unit ?? undefined)
    if (contradiction === undefined) return []
    const { stated, configured, factor } = contradiction
    // Where the tags agree with each other as they are configured, it is more likely the server's word that is wrong.
    const isAgreed = view.verdict === 'agree'
    const words = {
      key: `consistency.stated_unit${isAgreed ? '.agreed' : ''}`,
      parameters: {
        tag: { key: 'consistency.tag', parameters: { signal: signal.signal, address } },
        stated,
        configured,
      },
    }
    return [
      {
        id: `${signal.signal}${signal.spindle === undefined ? '' : `.${signal.spindle}`}.stated_unit`,
        severity: isAgreed ? 'doubtful' : 'wrong',
        signals: [signal.signal],
        addresses: [address],
        factor: factor ?? null,
        sd: null,
        looks_like: factor === undefined ? null : `${stated} as ${configured}`,
        together: [],
        alternatives: [],
        evidence: [],
        text: messages(words.key, words.parameters),
        words: [words],
      },
    ]
  })
  if (found.length === 0) return view
  return { ...view, verdict: 'disagree', findings: [...view.findings, ...found] }
}
