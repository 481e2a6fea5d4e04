/** The alarms on joints that are on their way through the line, and on the decurler: see `catalogue.ts`. */
import * as joints from './conditions-joints.ts'
import type { AlarmDefinition } from './definition.ts'
import type { AlarmFacts } from './facts.ts'

export const JOINT_ALARMS: readonly AlarmDefinition<AlarmFacts>[] = [
  {
    id: 'joint_not_out',
    condition: joints.jointNotOut,
    onlyProducing: false,
    measure: 'm',
    onDelayS: 0,
    offDelayS: 0,
    deadband: 'none: ends when it was confirmed, or eight joints later',
    texts: { joint_not_out: ['station'] },
    rationale: {
      cause: 'The gate did not act, or nobody confirmed that it did.',
      consequence: "The joint is in the customer's product.",
      response: 'Find the joint and take it out; then confirm it.',
      timeToRespond: 'until the product leaves the line',
      basis: "The web that really passed since the transfer, beyond the station's confirm_within.",
    },
  },
  {
    id: 'side_lay_off',
    condition: joints.sideLayOff,
    onlyProducing: false,
    measure: 'mm',
    onDelayS: 0,
    offDelayS: 0,
    deadband: 'none: one joint is one event, told for two minutes',
    texts: {
      'side_lay_off.new_web': [],
      'side_lay_off.old_web': [],
      'side_lay_off.both_webs': [],
      'side_lay_off.drift': [],
    },
    rationale: {
      cause: 'The new roll is not aligned on its chucks, or the old web had left its place.',
      consequence: 'Edges are cut or printed off their place; the joint may catch in a guide.',
      response: "Look at the web's edge and at the guide; align the next roll before its splice.",
      timeToRespond: 'the rest of the roll',
      basis: 'Mean of 5 m of web on each side of the joint against the tolerance in the config.',
    },
  },
  {
    id: 'decurler_standing',
    condition: joints.decurlerStanding,
    onlyProducing: true,
    measure: 'none',
    onDelayS: 10,
    offDelayS: 10,
    deadband: 'none: it follows again over 60 mm of diameter',
    texts: { decurler_standing: [] },
    rationale: {
      cause: 'The decurler is in manual, its drive or its diameter signal stands.',
      consequence: 'Sheets curl as the roll gets smaller.',
      response: 'Look at the decurler and set it to follow the roll.',
      timeToRespond: 'the rest of the roll',
      basis:
        'Its curve over at least three rolls: a quarter of the usual movement over 60 mm of diameter, beyond four scatters.',
    },
  },
]
