/** Turns what a person asked for over the API into samples of the source `operator`. */
import type { Command } from './api/messages.ts'
import type { OperatorSource } from './sources/operator.ts'

export function enterCommand(operator: OperatorSource, command: Command): void {
  const { unwind, person } = command
  switch (command.kind) {
    case 'ready':
      operator.ready(unwind, command.ready, person)
      break
    case 'stage':
      operator.stage(unwind, command.stage, command.done, person)
      break
    case 'waiting_roll':
      operator.waitingRoll(unwind, command.roll, person)
      break
    case 'job':
      operator.job(unwind, command.job, person)
      break
    case 'flag':
      operator.flag(unwind, command.roll, command.depth, person)
      break
    case 'shelve':
      operator.shelve(unwind, command.alarm, command.seconds, person)
      break
    case 'joint_out':
      operator.jointOut(unwind, command.joint, command.station, person)
      break
    case 'service':
      operator.service(unwind, command.item, command.note, person, command.tMs)
      break
    case 'service_taken_back':
      operator.serviceTakenBack(unwind, command.item, command.time, person)
      break
    case 'usual':
      operator.usual(unwind, command.metric, command.note, person)
      break
    case 'acknowledge':
      operator.acknowledge(unwind, command.alarm, person, command.comment)
  }
}
