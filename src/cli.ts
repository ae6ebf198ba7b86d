#!/usr/bin/env node
/**
 * The command: arguments in, exit code out, no mathematics. Exit 0: all good; 1: some clip failed, or
 * what was made could not be written; 2: the call itself was wrong; 130: interrupted. Everything heavy
 * is loaded only when it is needed, so that --help answers at once.
 */
import { parseArgs } from 'node:util';
import { COMMANDS, type Command, type Option, type Options } from './batch/commands.js';
import { printable } from './error.js';

/** Errors of a call that was right. */
const FAILURES = ['file/unwritable', 'file/locked', 'batch/worker'];

const [name, ...rest] = process.argv.slice(2);
/** Why the answer could not be written, where anyone missed it. */
let lost: string | undefined;
process.stdout.on('error', ({ code = 'unknown' }: NodeJS.ErrnoException) => {
  // Whoever read it has seen enough (| head): the work goes on, and the exit code tells how it went.
  if (code === 'EPIPE' || code === 'ERR_STREAM_DESTROYED' || lost !== undefined) return;
  lost = code;
  process.stderr.write(`twinkeel: the answer cannot be written (${code})\n`);
  process.exitCode = Math.max(1, Number(process.exitCode ?? 0));
});
// With nobody to tell, the exit code says it.
process.stderr.on('error', () => {});
const code = await main(name, rest);
process.exitCode = lost === undefined ? code : Math.max(1, code);

async function main(name: string | undefined, rest: string[]): Promise<number> {
  if (name === '--version') {
    print((await import('./batch/release.js')).release());
    return 0;
  }
  if (name === undefined || name === '-h' || name === '--help') {
    print(overview());
    return name === undefined ? 2 : 0;
  }
  if (name === 'help') {
    const [about] = rest;
    return main(about ?? '--help', about === undefined ? [] : ['--help']);
  }
  const command = Object.hasOwn(COMMANDS, name) ? COMMANDS[name] : undefined;
  if (!command) {
    const names = Object.keys(COMMANDS);
    const { meant } = await import('./nearestWord.js');
    const near = meant(name, names);
    const all = `the commands are ${names.join(', ')}`;
    return complain(
      `there is no command "${name}"; ${near === undefined ? '' : `${near}; `}${all}`,
    );
  }
  // What stands behind -- is not ours to understand.
  const end = command.passesOn ? rest.indexOf('--') : -1;
  const [own, passedOn] = end < 0 ? [rest, []] : [rest.slice(0, end), rest.slice(end + 1)];
  const options = await optionsOf(command);
  try {
    const { values, positionals } = parseArgs({
      args: own,
      options: Object.fromEntries(
        Object.entries(options).map(([key, { type, short }]) => [
          key,
          short ? { type, short } : { type },
        ]),
      ),
      allowPositionals: true,
    });
    if (values.help) {
      print(help(command, options));
      return 0;
    }
    return await command.run(positionals, values as Options, passedOn);
  } catch (error) {
    const {
      code,
      name: kind,
      message,
    } = error as { code?: string; name?: string; message: string };
    const dashed = /(--[\w-]+)'? argument is ambiguous/.exec(message)?.[1];
    if (dashed !== undefined) {
      return complain(
        `after ${dashed} comes a hyphen; write a negative number as ${dashed}=-2, or give the value that is missing`,
      );
    }
    if (code?.startsWith('ERR_PARSE_ARGS')) {
      const near = code === 'ERR_PARSE_ARGS_UNKNOWN_OPTION' && (await nearOption(message, options));
      return complain(
        `${message.split(/\.? *\n|\. /)[0]}; ${near ? `${near}; ` : ''}see ${command.usage.split(' ').slice(0, 2).join(' ')} --help`,
      );
    }
    if (kind === 'TwinkeelError') {
      complain(message);
      return FAILURES.includes(code!) ? 1 : 2;
    }
    if (kind === 'UsageError') return complain(message);
    const { syscall, path = 'a file of twinkeel' } = error as NodeJS.ErrnoException;
    if (syscall === undefined) throw error;
    complain(
      `${printable(path)}: found a failing ${syscall} (${code}), expected a disk that works; look at the disk, and run again`,
    );
    return 1;
  }
}

/** Every option of a command, those that are settings of a clip among them. */
async function optionsOf({
  options,
  settings,
}: Command): Promise<Readonly<Record<string, Option>>> {
  if (!settings) return options;
  const { optionOf, SETTINGS, settingsOf } = await import('./batch/settings.js');
  const own = settingsOf(settings).map((key): [string, Option] => {
    const { placeholder, help: what, needs } = SETTINGS[key];
    const about = needs === undefined ? what : `${what}; with --${optionOf(needs)}`;
    return [optionOf(key), { type: 'string', value: placeholder, about }];
  });
  const { out, ...others } = options;
  return { ...(out && { out }), ...Object.fromEntries(own), ...others };
}

/** Which option was probably meant, from what the parser says of an unknown one. */
async function nearOption(
  message: string,
  options: Readonly<Record<string, Option>>,
): Promise<string | undefined> {
  const { meant } = await import('./nearestWord.js');
  const written = /'--?([^' ]+)/.exec(message)?.[1] ?? '';
  return meant(written, Object.keys(options), (key) => `--${key}`);
}

function overview(): string {
  const commands = Object.entries(COMMANDS).map(
    ([key, { about }]) => `  ${key.padEnd(9)} ${about}`,
  );
  return [
    'twinkeel: steady stereo 180° footage from its orientation track or gyro log',
    '',
    ...commands,
    '',
    'twinkeel COMMAND --help says more about each; twinkeel --version names the release.',
  ].join('\n');
}

function help({ usage, about }: Command, options: Readonly<Record<string, Option>>): string {
  const lines = Object.entries(options).map(([key, { value, short, about: what }]) => {
    const flag = `--${key}${value ? ` ${value}` : ''}${short ? `, -${short}` : ''}`;
    return `  ${flag.padEnd(28)} ${what}`;
  });
  return [usage, '', `  ${about}`, '', ...lines].join('\n');
}

function complain(message: string): number {
  process.stderr.write(`twinkeel: ${message}\n`);
  return 2;
}

function print(text: string): void {
  process.stdout.write(`${text}\n`);
}
