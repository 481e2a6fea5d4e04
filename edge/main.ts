#!/usr/bin/env node
/**
 * The command `lastwrap`: verbs, options, exit status (0 done, 1 failed, 2 wrong input).
 * Each verb is a file in `cli/`, loaded only when it is called.
 */
import { Command, CommanderError, InvalidArgumentError } from 'commander'
import packageJson from '../package.json' with { type: 'json' }
import { LastwrapError, reasonOf } from './errors.ts'

const program = new Command('lastwrap')
  .description(
    'Watches the unwinds of a web line: time to splice, buffer margin, alarms, every splice recorded. It only reads.',
  )
  .version(packageJson.version)
  .showHelpAfterError('Add --help to see the options.')
  .exitOverride()

const seconds = (text: string): number => {
  const value = Number(text)
  if (!(value >= 0.1 && value <= 86_400))
    throw new InvalidArgumentError('It has to be a number of seconds from 0.1 to 86400.')
  return value
}
const port = (text: string): number => {
  const value = Number(text)
  if (!(Number.isInteger(value) && value >= 0 && value <= 65_535))
    throw new InvalidArgumentError('It has to be a port from 0 to 65535.')
  return value
}

program
  .command('start', { isDefault: false })
  .description('Run the monitor: connect, forecast, raise alarms, keep history, serve the dashboard.')
  .option(
    '--config <file>',
    'the plant to watch; without one (and without LASTWRAP_CONFIG) the built-in demo plant',
    process.env['LASTWRAP_CONFIG'],
  )
  .option(
    '--data <dir>',
    'folder for certificates, history and accounts (default: "./data", for the demo plant "./demo-data")',
    process.env['LASTWRAP_DATA'],
  )
  .option('--port <number>', 'port of the dashboard instead of the one in the config; 0 takes a free one', port)
  .addHelpText('after', '\nExamples:\n  lastwrap start\n  lastwrap start --config plant.yaml --data /var/lib/lastwrap')
  .action(async (options) => (await import('./cli/start.ts')).start(options))

program
  .command('check')
  .description('Check a config and say which source and tag answered what.')
  .requiredOption('--config <file>', 'the config to check', process.env['LASTWRAP_CONFIG'])
  .option('--data <dir>', 'folder for certificates', process.env['LASTWRAP_DATA'] ?? './data')
  .option('--recording <file>', 'hold a recording against the config instead of asking the sources')
  .option('--json', 'with --recording: everything as one JSON document')
  .option('--offline', 'check the file only, connect to nothing')
  .option('--timeout <seconds>', 'how long to wait for answers', seconds, 10)
  .addHelpText(
    'after',
    '\nExamples:\n  lastwrap check --config plant.yaml\n  lastwrap check --config plant.yaml --offline\n  lastwrap check --config plant.yaml --recording yesterday.csv.gz',
  )
  .action(async (options) => (await import('./cli/check.ts')).check(options))

program
  .command('browse')
  .description(
    'List the variables of an OPC UA server, or the topics of an MQTT broker: address, type, unit, value, quality.',
  )
  .argument('<endpoint>', 'opc.tcp://… or mqtt://…')
  .option('--search <words...>', 'only rows that hold all these words')
  .option(
    '--user <name>',
    'user name; its password comes from the environment variable LASTWRAP_PASSWORD or from --password-file',
  )
  .option('--password-file <file>', 'file that holds the password')
  .option('--ca-file <file>', "mqtts: file with the certificate of the broker's own authority")
  .option('--policy <name>', 'OPC UA security policy', 'Basic256Sha256')
  .option('--mode <mode>', 'OPC UA message security: none, sign or sign_and_encrypt', 'sign_and_encrypt')
  .option('--data <dir>', 'folder for certificates', process.env['LASTWRAP_DATA'] ?? './data')
  .option('--timeout <seconds>', 'how long to look, or to listen', seconds, 30)
  .addHelpText(
    'after',
    '\nExamples:\n  lastwrap browse opc.tcp://10.1.2.3:4840 --user monitor --search speed\n  lastwrap browse mqtt://10.1.2.4:1883 --timeout 10',
  )
  .action(async (endpoint, options) => (await import('./cli/browse.ts')).browseVerb(endpoint, options))

program
  .command('record')
  .description('Write what the tags of a config do to a recording, until Ctrl+C.')
  .requiredOption('--config <file>', 'the plant to record', process.env['LASTWRAP_CONFIG'])
  .requiredOption('--out <file>', 'recording to write, .csv or .csv.gz')
  .option('--data <dir>', 'folder for certificates', process.env['LASTWRAP_DATA'] ?? './data')
  .option('--seconds <seconds>', 'stop after so long', seconds)
  .addHelpText(
    'after',
    '\nExamples:\n  lastwrap record --config plant.yaml --out shift.csv.gz\n  lastwrap record --config plant.yaml --out test.csv --seconds 600',
  )
  .action(async (options) => (await import('./cli/record.ts')).recordVerb(options))

program
  .command('replay')
  .description('Feed a recording through the pipeline that runs live; writes forecast.csv, splices.csv and alarms.csv.')
  .requiredOption('--config <file>', 'the config of the plant', process.env['LASTWRAP_CONFIG'])
  .requiredOption('--recording <file>', 'CSV with time, tag, value (and quality), may be gzip')
  .requiredOption('--out <dir>', 'folder for the results, made if missing')
  .option('--every <seconds>', 'time between two rows of forecast.csv', seconds, 1)
  .addHelpText(
    'after',
    '\nExamples:\n  lastwrap replay --config plant.yaml --recording shift.csv.gz --out results\n  lastwrap replay --config plant.yaml --recording shift.csv --out results --every 10',
  )
  .action(async (options) => (await import('./cli/replay.ts')).replayVerb(options))

program
  .command('set-up-link')
  .description("Print a link that makes or regains an engineer's account, once: for whoever has this machine.")
  .option('--config <file>', 'the config, for the address', process.env['LASTWRAP_CONFIG'])
  .option('--data <dir>', 'folder with the accounts', process.env['LASTWRAP_DATA'] ?? './data')
  .addHelpText('after', '\nExample:\n  lastwrap set-up-link --config plant.yaml --data /var/lib/lastwrap')
  .action(async (options) => (await import('./cli/set-up-link.ts')).setUpLink(options))

try {
  await program.parseAsync()
} catch (thrown) {
  process.exitCode = exitStatus(thrown)
}

function exitStatus(thrown: unknown): number {
  // Commander has said what was wrong; help and version end with 0.
  if (thrown instanceof CommanderError) return thrown.exitCode === 0 ? 0 : 2
  if (thrown instanceof LastwrapError) {
    if (thrown.faults.length === 0) console.error(thrown.message)
    for (const fault of thrown.faults) console.error(fault)
    return thrown.exitStatus
  }
  console.error(
    `Something went wrong that should not: ${thrown instanceof Error ? (thrown.stack ?? thrown.message) : reasonOf(thrown)}`,
  )
  return 1
}
