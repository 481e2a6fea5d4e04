/** What is set at the machine, as its tags say it now: the settings that a config maps. Pure. */
import type { SignalConfig } from '../config/config.ts'
import { contractUnit, contractValue } from './contract-units.ts'
import type { UnwindSignals } from './unwind-signals.ts'

/** Settings by what they are; an extra tag is one by its `role`. */
const SETTINGS: readonly string[] = ['splice_diameter', 'speed_setpoint', 'tension_setpoint']

const isSetting = ({ signal, role }: SignalConfig): boolean => role === 'setting' || SETTINGS.includes(signal)

/** In the contract's units, extra tags in their own. Silent ones are left out; one per spindle has its name behind a dot. */
export function settingReadings(
  signals: UnwindSignals,
  tMs: number,
): { signal: string; value: number | string; unit: string }[] {
  return signals.heldNow(tMs, isSetting).flatMap(({ config, value }) => {
    const { spindle, role, unit, toSi } = config
    const signal = spindle === undefined ? config.signal : `${config.signal}.${spindle}`
    if (role === 'setting') {
      return [{ signal, value: typeof value === 'number' ? value / toSi : String(value), unit: unit ?? '' }]
    }
    const known = contractValue(config, value, undefined)
    return known === undefined ? [] : [{ signal, value: known.value, unit: contractUnit(config.signal) }]
  })
}
