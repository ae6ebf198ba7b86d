import type { SettingCommand } from './settings.js';

/** Values of options, by name. */
export type Options = Record<string, string | boolean | undefined>;

/** One option as the parser and the help need it. */
export interface Option {
  readonly type: 'string' | 'boolean';
  readonly short?: string;
  readonly about: string;
  readonly value?: string;
}

/** One command of the program. */
export interface Command {
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

/** The commands, in the order of the help. What they do is loaded when it is asked for. */
export const COMMANDS: Readonly<Record<string, Command>> = {
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
    run: async (files, options) => (await import('./ingest.js')).ingest(files, options),
  },
  inspect: {
    usage: 'twinkeel inspect FILES…',
    about: 'say in words what was understood of tracks and logs; writes nothing',
    settings: 'inspect',
    options: { json: JSON_OUT, help: HELP },
    run: async (files, options) => (await import('./inspect.js')).inspect(files, options),
  },
  orient: {
    usage: 'twinkeel orient LOG… --out DIR',
    about: 'turn gyro logs into level orientation tracks (STEM.track.csv)',
    settings: 'orient',
    options: { out: OUT, force: FORCE, json: JSON_OUT, help: HELP },
    run: async (files, options) => (await import('./orient.js')).orient(files, options),
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
    run: async (files, options) => (await import('./correct.js')).correct(files, options),
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
    run: async (files, options) => (await import('./handoff.js')).handoff(files, options),
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
      (await import('./resample.js')).resample(files, options, passedOn),
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
    run: async (files, options) => (await import('./report.js')).report(files, options),
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
    run: async (files, options) => (await import('./merge.js')).merge(files, options),
  },
  demo: {
    usage: 'twinkeel demo [--out DIR]',
    about: 'make the built-in example, a night walk through a greenhouse, and correct it',
    options: { out: OUT, force: FORCE, help: HELP },
    run: async (files, options) => (await import('./demo.js')).demo(files, options),
  },
};
