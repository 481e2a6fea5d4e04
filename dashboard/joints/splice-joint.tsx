/** What became of the joint of one splice further down the line; nothing where no station is configured. */
import { useMemo } from 'preact/hooks'
import type { SpliceView } from '../../edge/api/messages.ts'
import type { JointView } from '../../edge/joint-columns.ts'
import { useLiveValue } from '../frame/live-context.ts'
import { useRequest } from '../frame/use-request.ts'
import { JointSection } from './joint-section.tsx'

/** A joint is made within this of its splice's start, ms. */
const MADE_WITHIN_MS = 600_000

export const SpliceJoint = ({ splice }: { splice: SpliceView }) => {
  const newest = useLiveValue(({ state }) => state.joint)
  const news = newest?.joint === splice.id ? newest : undefined
  const again = useMemo(() => ({}), [splice, news])
  const startedMs = Date.parse(splice.started)
  const query = new URLSearchParams({
    unwind: splice.unwind,
    from: String(startedMs),
    to: String(startedMs + MADE_WITHIN_MS),
  })
  const { data } = useRequest<JointView[]>(splice.transfer === null ? undefined : `api/joints?${query}`, again)
  const joint = data?.find(({ id }) => id === splice.id)
  const isSaid =
    joint !== undefined &&
    (joint.stations.length > 0 || joint.broke !== null || joint.side_lay !== null || joint.register !== null)
  return isSaid ? <JointSection joints={[joint]} isLive={false} /> : null
}
