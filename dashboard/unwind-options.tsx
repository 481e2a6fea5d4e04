/** The site's unwinds as the options of a select, by name. */
import type { UnwindView } from '../edge/api/messages.ts'

export const UnwindOptions = ({ unwinds }: { unwinds: readonly Pick<UnwindView, 'unwind' | 'name'>[] }) => (
  <>
    {unwinds.map(({ unwind, name }) => (
      <option key={unwind} value={unwind}>
        {name}
      </option>
    ))}
  </>
)
