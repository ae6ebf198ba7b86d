#!/usr/bin/env node
/**
 * The command: arguments in, exit code out, no mathematics. Exit 0: all good; 1: some clip failed, or
 * what was made could not be written; 2: the call itself was wrong; 130: interrupted. Everything heavy
 * is loaded only when it is needed, so that --help answers at once.
 */
import { parseArgs } from 'node:util';
import type { SettingCommand } from './batch/settings.js';
import { printable } from './error.js';

type Options = Record<string, string | boolean | undefined>;

interface Option {
  readonly type: 'string' | 'boolean';
  readonly short?: string;
  readonly about: string;
  readonly value?: string;
}

interface Command {
  readonly usage: string;
  readonly about: string;
  readonly options: Readonly<Record<string, Option>>;
  /** Whether it takes settings of a clip besides, which stand in a table of their own. */
  readonly settings?: SettingCommand;
  readonly run: (files: string[], options: Options, passedOn: string[]) => Promise<number>;
  /** Whether what stands behind `--` is for another program. */
  readonly passesOn?: boolean;
}

const FLIP = {
  type: 'string',
  value: 'ANGLES',
  about: 'angles of opentrackio samples that count the other way: pan,tilt,roll',
} as const;
const TIMECODE = {
  type: 'string',
  value: 'HH:MM:SS:FF',
  about: 'time code of the clip’s first frame, for --trim and --log-timecode',
} as const;
const OUT = { type: 'string', value: 'DIR', about: 'folder to write into' } as const;
const FORCE = { type: 'boolean', about: 'replace files that exist' } as const;
const JSON_OUT = { type: 'boolean', about: 'answer for machines' } as const;
const HELP = { type: 'boolean', short: 'h', about: 'show this help' } as const;
const COMMANDS: Readonly<Record<string, Command>> = {
  shoot: {
    usage: 'twinkeel shoot FOLDER [--out FILE.json]',
    about: 'find tracks, logs and movies of a shoot and write its manifest (shoot.json) to correct',
    options: {
      out: { type: 'string', value: 'FILE', about: 'the manifest; default: FOLDER/shoot.json' },
      ffprobe: { type: 'string', value: 'PATH', about: 'your ffprobe; default: on PATH' },
      force: { type: 'boolean', about: 'replace a manifest that exists' },
      json: JSON_OUT,
      help: HELP,
    },
    run: async (files, options) => (await import('./batch/ingest.js')).ingest(files, options),
  },
  inspect: {
    usage: 'twinkeel inspect FILES…',
    about: 'say in words what was understood of tracks and logs; writes nothing',
    settings: 'inspect',
    options: { json: JSON_OUT, help: HELP },
    run: async (files, options) => (await import('./batch/inspect.js')).inspect(files, options),
  },
  orient: {
    usage: 'twinkeel orient LOG… --out DIR',
    about: 'turn gyro logs into level orientation tracks (STEM.track.csv)',
    settings: 'orient',
    options: { out: OUT, force: FORCE, json: JSON_OUT, help: HELP },
    run: async (files, options) => (await import('./batch/orient.js')).orient(files, options),
  },
  correct: {
    usage: 'twinkeel correct FILES… | shoot.json --out DIR',
    about: 'find the corrective rotations (STEM.corrections.csv, STEM.result.json)',
    settings: 'correct',
    options: {
      out: OUT,
      jobs: {
        type: 'string',
        value: 'N',
        about: 'with a manifest: clips at the same time; default: one per processor',
      },
      shard: {
        type: 'string',
        value: 'K/N',
        about: 'with a manifest: only the K-th of N shares; merge joins their summaries',
      },
      fresh: { type: 'boolean', about: 'do finished clips again' },
      anywhere: {
        type: 'boolean',
        about: 'with a manifest: take files outside its folder too',
      },
      force: FORCE,
      json: JSON_OUT,
      help: HELP,
    },
    run: async (files, options) => (await import('./batch/correct.js')).correct(files, options),
  },
  handoff: {
    usage: 'twinkeel handoff STEM.result.json… --to NAME --out DIR',
    about: 'results as other programs read them, each with a text that explains the numbers',
    options: {
      to: {
        type: 'string',
        value: 'NAME',
        about:
          'csv, json, gltf, glb, usda, opentrackio, tum, ffmpeg, st-maps, otio, edl, csv-markers; several with commas',
      },
      out: OUT,
      trim: {
        type: 'string',
        value: 'A..B',
        about: 'only these frames: numbers or time codes, an end may be left out',
      },
      timecode: {
        ...TIMECODE,
        about: 'time code of the clip’s first frame, for --trim, otio, edl and csv-markers',
      },
      motion: {
        type: 'string',
        value: 'KIND',
        about: 'intended (default), measured, or (tum only) correction',
      },
      flip: FLIP,
      picture: {
        type: 'string',
        value: 'KIND',
        about:
          'half-equirect or fisheye, for ffmpeg and st-maps; default: what the result was corrected for',
      },
      layout: {
        type: 'string',
        value: 'KIND',
        about: 'side-by-side (default) or top-bottom, for ffmpeg',
      },
      field: {
        type: 'string',
        value: 'DEG',
        about:
          'field of the fisheye picture from edge to edge, for ffmpeg; default: that of the rig’s lens',
      },
      'movie-starts': {
        type: 'string',
        value: 'N',
        about:
          'number of the movie’s first frame, for ffmpeg, otio and edl; default: the result’s first',
      },
      frames: {
        type: 'string',
        value: 'N,N,…',
        about: 'frames to draw st-maps of; default: first, middle, last',
      },
      size: {
        type: 'string',
        value: 'WxH',
        about: 'pixels of one eye’s new picture, for st-maps (1024x1024) and worked numbers',
      },
      'source-size': {
        type: 'string',
        value: 'WxH',
        about: 'pixels of one eye’s fisheye picture, for st-maps',
      },
      force: FORCE,
      json: JSON_OUT,
      help: HELP,
    },
    run: async (files, options) => (await import('./batch/handoff.js')).handoff(files, options),
  },
  resample: {
    usage:
      'twinkeel resample MOVIE --result STEM.result.json --out FILE.mkv [-- options for ffmpeg]\n' +
      'twinkeel resample shoot.json --results DIR --out DIR [-- options for ffmpeg]',
    about:
      'make a new, steadied movie in one resampling with your own ffmpeg; a run that was stopped goes on',
    passesOn: true,
    options: {
      result: { type: 'string', value: 'FILE', about: 'corrections of the movie' },
      out: {
        type: 'string',
        value: 'FILE',
        about:
          'the movie to make, .mkv, .mov or .mp4 (default codec FFV1); with a manifest a folder',
      },
      picture: {
        type: 'string',
        value: 'KIND',
        about: 'half-equirect (default), or fisheye: the lens that the rig states',
      },
      layout: { type: 'string', value: 'KIND', about: 'side-by-side (default) or top-bottom' },
      circle: {
        type: 'string',
        value: 'X,Y,D',
        about: 'middle and diameter of a fisheye’s circle in each eye’s picture, px; two with /',
      },
      deliver: {
        type: 'string',
        value: 'KIND',
        about: 'half-equirect (default), or source: the same projection as the movie',
      },
      size: {
        type: 'string',
        value: 'WxH',
        about: 'pixels of the new frame; default as the movie',
      },
      filter: {
        type: 'string',
        value: 'NAME',
        about: 'bicubic (default), bilinear or lanczos3; a proxy takes bilinear',
      },
      frames: {
        type: 'string',
        value: 'A..B',
        about: 'only these frames: numbers of the corrections, or time codes',
      },
      timecode: { ...TIMECODE, about: 'time code of the first corrected frame, for --frames' },
      'movie-starts': {
        type: 'string',
        value: 'N',
        about: 'number of the movie’s first frame; default: that of the corrections',
      },
      proxy: {
        type: 'string',
        value: 'WIDTH',
        about: 'a small H.264 movie of this width, for a quick look in a headset',
      },
      results: { type: 'string', value: 'DIR', about: 'with a manifest: where "correct" wrote' },
      ending: {
        type: 'string',
        value: 'NAME',
        about: 'with a manifest: mkv (default), mov or mp4 (default of a proxy)',
      },
      anywhere: {
        type: 'boolean',
        about: 'with a manifest: take files outside its folder too',
      },
      jobs: { type: 'string', value: 'N', about: 'worker threads; default: one per processor' },
      segment: {
        type: 'string',
        value: 'N',
        about: 'frames per segment, the piece that a stopped run keeps; default 600',
      },
      ffmpeg: {
        type: 'string',
        value: 'PATH',
        about: 'your ffmpeg, 5.1 or newer; default: on PATH',
      },
      ffprobe: { type: 'string', value: 'PATH', about: 'your ffprobe; default: on PATH' },
      force: FORCE,
      json: JSON_OUT,
      help: HELP,
    },
    run: async (files, options, passedOn) =>
      (await import('./batch/resample.js')).resample(files, options, passedOn),
  },
  report: {
    usage: 'twinkeel report STEM.result.json…|shoot.summary.json --out FILE.html',
    about: 'one page to look at: verdicts, plots and a moving preview; and a table here',
    options: {
      out: { type: 'string', value: 'FILE', about: 'the page to write, ending in .html' },
      force: FORCE,
      json: JSON_OUT,
      help: HELP,
    },
    run: async (files, options) => (await import('./batch/report.js')).report(files, options),
  },
  merge: {
    usage: 'twinkeel merge SUMMARY… --out FILE.json',
    about: 'join the summaries of the shares of a shoot',
    options: {
      out: { type: 'string', value: 'FILE', about: 'the summary to write' },
      force: FORCE,
      json: JSON_OUT,
      help: HELP,
    },
    run: async (files, options) => (await import('./batch/merge.js')).merge(files, options),
  },
  demo: {
    usage: 'twinkeel demo [--out DIR]',
    about: 'make the built-in example, a night walk through a greenhouse, and correct it',
    options: { out: OUT, force: FORCE, help: HELP },
    run: async (files, options) => (await import('./batch/demo.js')).demo(files, options),
  },
};

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
