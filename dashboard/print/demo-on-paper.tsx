/** Paper leaves the screen that says so: of a demo it says itself that its data is invented. */
import { useLiveValue } from '../frame/live-context.ts'
import { say } from '../messages.ts'

export const DemoOnPaper = () => {
  const isDemo = useLiveValue((store) => store.state.health?.demo === true)
  return isDemo ? (
    <p class="print-only" data-part="demo">
      {say('app.demo')}
    </p>
  ) : null
}
