/** Advice of the stand-in daemon: plain figures of the invented plant. */
import type { AdviceView, LineView, UnwindView, WhatIfView } from '../../edge/api/messages.ts'
import { WHAT_IF_UNITS } from '../../edge/pipeline-advice.ts'

export function standInAdvice(
  view: UnwindView,
  flags: readonly { depth: number; entered: string; person: string }[],
): AdviceView {
  const seconds = view.seconds_to_splice
  const isKnown = seconds !== null && view.metres_to_splice !== null
  const ready = isKnown ? Math.max(0, seconds - view.fill_lead_seconds) : null
  return {
    time: view.time,
    unwind: view.unwind,
    must_be_ready_seconds: ready,
    must_be_ready_low: ready === null ? null : ready * 0.98,
    must_be_ready_high: ready === null ? null : ready * 1.02,
    must_be_ready_by: isKnown ? 'fill' : null,
    preparation_seconds: view.preparation_seconds,
    lasting_speed: isKnown ? 120 : null,
    lasting_speed_low: isKnown ? 118 : null,
    lasting_speed_high: isKnown ? 122 : null,
    next_splices: isKnown
      ? [
          {
            seconds,
            seconds_low: view.seconds_low,
            seconds_high: view.seconds_high,
            metres: view.metres_to_splice!,
            metres_low: view.metres_low ?? 0,
            metres_high: view.metres_high ?? 0,
            roll: 'running',
            material: '4711',
            roll_length: null,
            roll_length_deviation: null,
            too_short: false,
          },
        ]
      : [],
    usual_length: isKnown ? { material: '4711', metres: 6000, deviation: 250, rolls: 14 } : null,
    job: null,
    rolls_to_stage: isKnown ? 3 : null,
    flags: flags.map((flag) => ({
      ...flag,
      metres: 410,
      metres_low: 380,
      metres_high: 440,
      seconds: 82,
      before_splice: true,
    })),
    waiting_flags: [],
    deepest_flag: { running: 310, waiting: null },
    splice_diameter: isKnown
      ? {
          setting: 130,
          smallest: { value: 112.5, deviation: 1.2 },
          without_uncertainty: 108.8,
          risk: 0.001,
          risk_at_setting: 1e-9,
          left_on_core: { metres: 63, kilograms: 5.2, cost: 5.67 },
          left_on_core_deviation: 3,
          avoidable: { metres: 42, kilograms: 3.5, cost: 3.78 },
          currency: 'EUR',
        }
      : null,
    caliper: isKnown
      ? { measured: { value: 81.2, deviation: 0.3 }, label: 80, difference_percent: 1.5, significance: 4 }
      : null,
    out_of_round: isKnown ? { amplitude: { value: 0.3, deviation: 0.1 }, limit: 3 } : null,
  }
}

export const standInWhatIf = (view: UnwindView, speed: number): WhatIfView => ({
  time: view.time,
  unwind: view.unwind,
  speed,
  seconds_to_splice: view.metres_to_splice === null ? null : (60 * view.metres_to_splice) / speed,
  seconds_low: null,
  seconds_high: null,
  buffer_needed: view.buffer_needed,
  buffer_margin: view.buffer_margin,
  safe_speed: view.safe_speed,
  must_be_ready_seconds: null,
  must_be_ready_low: null,
  must_be_ready_high: null,
  units: WHAT_IF_UNITS,
})

export const standInLine = (time: string): LineView => ({
  time,
  line: 'laminator',
  name: 'Laminator',
  joint_separation: 3,
  crew: 1,
  joints: [
    { unwind: 'laminator_inner', number: 1, metres: 412, metres_low: 405, metres_high: 419 },
    { unwind: 'laminator_outer', number: 1, metres: 414, metres_low: 408, metres_high: 420 },
  ],
  meetings: [
    {
      first: { unwind: 'laminator_inner', number: 1 },
      second: { unwind: 'laminator_outer', number: 1 },
      metres: 412,
      gap: { value: 2, deviation: 7 },
      probability: 0.32,
      advice: {
        unwind: 'laminator_inner',
        number: 1,
        early_metres: 17,
        wasted: { metres: 17, kilograms: 1.4, cost: 1.53 },
        currency: 'EUR',
        must_be_ready_seconds: 60,
      },
    },
  ],
  preparations: [{ unwinds: ['laminator_inner', 'laminator_outer'], seconds: 0, probability: 0.97 }],
  unknown: [],
})
