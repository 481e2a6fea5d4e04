/**
 * Every alarm of one unwind, and those of the site: condition, delays, texts and why it exists.
 *
 * An alarm that needs no action is not an alarm. Delays are at most a quarter of the time there is to respond; where no
 * source is named a figure is common practice.
 */
import { type AlarmBoard, type AlarmBoardOptions, createAlarmBoard } from './board.ts'
import { JOINT_ALARMS } from './catalogue-joints.ts'
import { unwindSpliceAlarms } from './catalogue-splice.ts'
import * as after from './conditions-after.ts'
import type { AlarmDefinition } from './definition.ts'
import type { AlarmFacts } from './facts.ts'
import { TENSION_ALARM } from './tension.ts'

const MEASUREMENT_ALARMS: readonly AlarmDefinition<AlarmFacts>[] = [
  {
    id: 'diameter_implausible',
    condition: after.diameterImplausible,
    onlyProducing: true,
    measure: 'mm',
    onDelayS: 1,
    offDelayS: 10,
    deadband: 'none: the reading has been plausible for 10 s',
    texts: {
      'diameter_implausible.stuck': [],
      'diameter_implausible.jump': [],
      'diameter_implausible.rising': [],
      'diameter_implausible.out_of_range': [],
      'diameter_implausible.no_value': [],
      'diameter_implausible.spindle_unit': ['spindle', 'actual', 'stated'],
    },
    rationale: {
      cause:
        'The sensor is stuck, dirty, sees an arm, or lost its supply; or its tag is in another unit than the config states.',
      consequence:
        'The countdown is wrong, and a splicer that triggers on the same reading splices too early or not at all.',
      response:
        'Watch the roll by eye, clean or repair the sensor or have the unit put right, splice by hand where needed.',
      timeToRespond: 'the rest of the roll',
      basis:
        'Quiet after a roll change for three turns and 30 s (at most 60 s): presets converge, a turret blinds the sensor.',
    },
  },
  {
    id: 'diameter_not_reset',
    condition: after.diameterNotReset,
    onlyProducing: true,
    measure: 'mm',
    onDelayS: 2,
    offDelayS: 2,
    deadband: 'none',
    texts: { diameter_not_reset: [] },
    rationale: {
      cause: 'The PLC program did not preset the diameter at the roll change, or the wrong position is read.',
      consequence: 'The splicer may begin its next cycle at once, or the countdown belongs to a roll that is gone.',
      response: "Set the new roll's diameter at the splicer.",
      timeToRespond: 'minutes',
      basis: 'As long after a transfer as presets and turrets take: 30 s.',
    },
  },
  {
    id: 'caliper_off_label',
    condition: after.caliperOffLabel,
    onlyProducing: true,
    measure: 'um',
    onDelayS: 10,
    offDelayS: 10,
    deadband: '1 % of the label: raised beyond 6 %, ends below 5 %, once a roll',
    texts: { caliper_off_label: ['percent', 'direction'] },
    rationale: {
      cause: 'Another material is on the roll, or material data or a speed scale is wrong.',
      consequence: 'The product may be wrong; until learned, the countdown was.',
      response: 'Compare the label with the order.',
      timeToRespond: 'the rest of the roll',
      basis: 'Labels are off by a few per cent; 6 % and 2.5 standard deviations are beyond that and beyond chance.',
    },
  },
  {
    id: 'speeds_disagree',
    condition: after.speedsDisagree,
    onlyProducing: true,
    measure: 'none',
    onDelayS: 10,
    offDelayS: 30,
    deadband: '0.2 % of the speed: raised beyond 1 %, ends below 0.8 %',
    texts: {
      speeds_disagree: ['signal', 'percent', 'direction'],
      'speeds_disagree.times': ['signal', 'factor'],
    },
    rationale: {
      cause: "A tach's scale, its measuring roller or its unit is wrong, or the web slips.",
      consequence: 'Lengths, the countdown in metres and the festoon margin are wrong by as much.',
      response: 'Have the scale and the measuring roller of that tag checked.',
      timeToRespond: 'the shift',
      basis: 'At least 200 m of steady web, more than 1 % and beyond chance; ramps and cycles do not count.',
    },
  },
  {
    id: 'roll_out_of_round',
    condition: after.rollOutOfRound,
    onlyProducing: true,
    measure: 'mm',
    onDelayS: 10,
    offDelayS: 10,
    deadband: '20 % of the limit: raised above it, ends below 80 % of it, once a roll',
    texts: { roll_out_of_round: ['amplitude'] },
    rationale: {
      cause: 'The roll was stored on its side or dropped, or its core is crushed.',
      consequence: 'Tension swings once per turn: register and edges run out, the web may break.',
      response: 'Look at the roll; slow the line if the web swings, or splice to the next roll.',
      timeToRespond: 'the rest of the roll',
      basis:
        'Amplitude × line speed over the limit in the config (3 mm at 300 m/min), and 2.5 standard deviations beyond chance.',
    },
  },
  {
    id: 'setting_wastes_web',
    condition: after.settingWastesWeb,
    onlyProducing: true,
    measure: 'm',
    onDelayS: 60,
    offDelayS: 60,
    deadband: '20 % of the limit: raised above it, ends below 80 % of it',
    texts: { setting_wastes_web: ['metres'] },
    rationale: {
      cause: 'The splice diameter is set for a worse splicer, thicker core or faster line than this one.',
      consequence: 'Good web goes to waste on every core.',
      response: 'Maintenance lowers the setting in steps of at most 5 mm, supervised, per material and core.',
      timeToRespond: 'weeks',
      basis:
        'Ten splices were seen, and the setting leaves more than the limit in the config (20 m) beyond what the accepted risk asks for.',
    },
  },
  {
    id: 'cycle_slowing',
    condition: after.cycleSlowing,
    onlyProducing: false,
    measure: 'none',
    onDelayS: 0,
    offDelayS: 0,
    deadband: 'the EWMA is raised beyond 3 to 4.2 standard deviations, ends below 1',
    texts: {
      cycle_slowing: ['metric', 'percent', 'splices'],
      'cycle_slowing.side': ['metric', 'percent', 'splices', 'side'],
    },
    rationale: {
      cause: 'Vacuum, knife, clamps, brake or drive wear, or something was set otherwise.',
      consequence: 'The stop takes more web from the festoon, until one splice is too slow.',
      response: 'Maintenance compares the traces, sees what was set or served before, and repairs at the next stop.',
      timeToRespond: 'days',
      basis:
        'Control charts per splicer and side, speed and roll accounted for: less than one false call in 1000 splices over all of them (simulated).',
    },
  },
  {
    id: 'source_lost',
    condition: after.sourceLost,
    onlyProducing: false,
    measure: 's',
    onDelayS: 0,
    offDelayS: 5,
    deadband: 'none: every value has been back for 5 s',
    texts: {
      source_lost: ['signal', 'source', 'address'],
      'source_lost.ready': ['source', 'address'],
      'source_lost.missing': ['signal', 'source', 'address'],
    },
    rationale: {
      cause: 'Network, PLC or broker is away, or a tag has gone bad.',
      consequence: 'No countdown and no further alarm of this unwind.',
      response: 'Watch roll and festoon by eye; have the connection checked.',
      timeToRespond: 'the rest of the roll',
      basis: 'The wait lies in the signal itself (`stale_after`), so the alarm adds none.',
    },
  },
  {
    id: 'pipeline_fault',
    condition: after.pipelineFault,
    onlyProducing: false,
    measure: 'none',
    onDelayS: 0,
    offDelayS: 10,
    deadband: 'none',
    texts: { pipeline_fault: ['reason'] },
    rationale: {
      cause: 'A fault in the program while it dealt with this unwind.',
      consequence: 'The state is unknown until the last snapshot has been restored and confirmed.',
      response: 'Watch the roll by eye; report the fault.',
      timeToRespond: 'the rest of the roll',
      basis: 'Every fault counts.',
    },
  },
]

/** In the order in which a screen lists what has the same priority and age. */
export const UNWIND_ALARMS: readonly AlarmDefinition<AlarmFacts>[] = [
  ...unwindSpliceAlarms,
  ...JOINT_ALARMS,
  TENSION_ALARM,
  ...MEASUREMENT_ALARMS,
]

/** What the daemon knows about itself, for alarms that belong to no unwind. */
export interface SiteFacts {
  tMs: number
  /** Why the history cannot be written, one sentence; undefined while it can. */
  storeTrouble: string | undefined
}

export const SITE_ALARMS: readonly AlarmDefinition<SiteFacts>[] = [
  {
    id: 'store_failing',
    condition: (facts) =>
      facts.storeTrouble === undefined
        ? undefined
        : {
            priority: 'high',
            value: undefined,
            limit: undefined,
            text: 'store_failing',
            parameters: { reason: facts.storeTrouble },
          },
    onlyProducing: false,
    measure: 'none',
    onDelayS: 5,
    offDelayS: 30,
    deadband: 'none: writing has worked for 30 s',
    texts: { store_failing: ['reason'] },
    rationale: {
      cause: 'The disk is full, read-only or failing.',
      consequence: 'Samples, splices and alarms are kept in memory for a while and then lost.',
      response: 'Free or replace the disk.',
      timeToRespond: 'as long as the memory set aside lasts',
      basis: 'A single failed commit is tried again within a second.',
    },
  },
]

/** The alarms of one unwind. */
export const unwindAlarms = (
  unwind: string,
  messages: AlarmBoardOptions<AlarmFacts>['messages'],
  onChange: AlarmBoardOptions<AlarmFacts>['onChange'],
): AlarmBoard<AlarmFacts> => createAlarmBoard({ unwind, definitions: UNWIND_ALARMS, messages, onChange })
