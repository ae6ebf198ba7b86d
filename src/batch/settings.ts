/**
 * The one table of what can be said about a clip. From it follow the type of the settings, the
 * options of the commands and their help, the keys of a manifest and their checks, and the schema of
 * manifests. Light: `--help` loads it.
 */
import {
  file,
  frameRate,
  type Kind,
  number,
  numberOr,
  text,
  type ValueOf,
  word,
  wordList,
} from './settingKinds.js';
import {
  ANGLES,
  FILTERS,
  FORMATS,
  NEAREST_SUBJECTS_M,
  PICTURES,
  SHORTEST_MOVES,
  SHOTS,
} from './settingWords.js';

/** Commands that take settings. */
export type SettingCommand = 'inspect' | 'orient' | 'correct';

/** What there is to know of a setting. */
export interface Setting<Key extends string = string> {
  /** How its values are written. */
  readonly kind: Kind;
  /** Stands for a value in the help of the command line. */
  readonly placeholder: string;
  /** One line of help, true of the command line and of a manifest. */
  readonly help: string;
  /** The setting that it means nothing without. */
  readonly needs?: Key;
  /** The setting that answers the same question in another way. */
  readonly insteadOf?: Key;
  /** Which commands take it; all that take settings when left out. */
  readonly commands?: readonly SettingCommand[];
}

const CORRECT = { commands: ['correct'] } as const;
const TRACKS = { commands: ['inspect', 'correct'] } as const;
const SHARE = { least: 0, most: 1 };

const TABLE = {
  mapping: {
    kind: file(),
    placeholder: 'FILE',
    help: 'sentences that say how to read the file',
  },
  format: {
    kind: word(FORMATS),
    placeholder: 'NAME',
    help: `open format of the file: ${FORMATS.join(', ')}`,
  },
  accel: {
    kind: file(),
    placeholder: 'FILE',
    help: 'the accelerometer of a clip that is a gyro log, where it has a file of its own',
  },
  accelMapping: {
    kind: file(),
    placeholder: 'FILE',
    help: 'sentences that say how to read that file',
    needs: 'accel',
  },
  accelOffset: {
    kind: number('a number of seconds'),
    placeholder: 'SECONDS',
    help: 'when its first row was, from the gyroscope’s first; default: stamps or motion say it',
    needs: 'accel',
  },
  flip: {
    kind: wordList(ANGLES),
    placeholder: 'ANGLES',
    help: 'angles of opentrackio samples that count the other way: pan,tilt,roll',
    ...TRACKS,
  },
  rate: {
    kind: frameRate(),
    placeholder: 'N/D',
    help: 'exact frame rate of the clip, such as 60000/1001',
  },
  shot: {
    kind: word(SHOTS),
    placeholder: 'KIND',
    help: 'auto (default), travelling (walking, looking about), pan (standing, turning), locked-off',
    ...TRACKS,
  },
  level: {
    kind: number('a share from 0 to 1', SHARE),
    placeholder: '0…1',
    help: 'share of the roll to take out; 1 (default) levels the horizon',
    ...CORRECT,
  },
  levelAt: {
    kind: number('a number of seconds'),
    placeholder: 'SECONDS',
    help: 'a moment, from the first row, at which the camera stood level',
    ...CORRECT,
  },
  aim: {
    kind: file(),
    placeholder: 'FILE',
    help: 'where the view shall look: time_s,heading_deg,tilt_deg[,roll_deg]',
    ...CORRECT,
  },
  limit: {
    kind: numberOr('none', 'an angle above 0°', { above: 0 }),
    placeholder: 'DEG',
    help: 'largest correction in degrees, or none; default: what the rig allows',
    ...CORRECT,
  },
  log: {
    kind: file(),
    placeholder: 'FILE',
    help: 'gyro log of the same take, lined up by itself; one may serve many clips',
    ...CORRECT,
  },
  logOffset: {
    kind: number('a number of seconds'),
    placeholder: 'SECONDS',
    help: 'how long before the clip the log starts, to about 5 s; a hint, not needed',
    needs: 'log',
    ...CORRECT,
  },
  logTimecode: {
    kind: text(),
    placeholder: 'HH:MM:SS:FF',
    help: 'time code at which the log starts, beside that of the clip; a hint, to about 5 s',
    needs: 'log',
    ...CORRECT,
  },
  clap: {
    kind: text(
      /^\d+@-?\d+(\.\d+)?$/,
      'the frame of the clip and the second of the log, such as 132@7.25',
    ),
    placeholder: 'FRAME@S',
    help: 'frame of the clip and second of the log of one clap; a hint, to half a second',
    needs: 'log',
    ...CORRECT,
  },
  logMapping: {
    kind: file(),
    placeholder: 'FILE',
    help: 'sentences that say how to read the log',
    needs: 'log',
    ...CORRECT,
  },
  logAccel: {
    kind: file(),
    placeholder: 'FILE',
    help: 'the accelerometer of that log, where it has a file of its own',
    needs: 'log',
    ...CORRECT,
  },
  logAccelMapping: {
    kind: file(),
    placeholder: 'FILE',
    help: 'sentences that say how to read that file',
    needs: 'logAccel',
    ...CORRECT,
  },
  logAccelOffset: {
    kind: number('a number of seconds'),
    placeholder: 'SECONDS',
    help: 'when its first row was, from the log’s first; default: stamps or motion say it',
    needs: 'logAccel',
    ...CORRECT,
  },
  rig: {
    kind: file(),
    placeholder: 'FILE',
    help: 'description of the two lenses (JSON)',
    ...CORRECT,
  },
  nearest: {
    kind: number(
      `a distance from ${NEAREST_SUBJECTS_M.least} to ${NEAREST_SUBJECTS_M.most} m`,
      NEAREST_SUBJECTS_M,
    ),
    placeholder: 'M',
    help: 'how near the nearest subject of this clip comes, metres; default: what the rig says',
    needs: 'rig',
    ...CORRECT,
  },
  picture: {
    kind: word(PICTURES),
    placeholder: 'KIND',
    help: 'what will be resampled: half-equirect (default) holds 180°, fisheye all that the lens sees',
    ...CORRECT,
  },
  uncovered: {
    kind: numberOr('never', 'a share from 0 to 1', SHARE),
    placeholder: 'SHARE',
    help: 'how much of the view may turn black: never (default with a rig) or 0…1',
    needs: 'rig',
    ...CORRECT,
  },
  shortestMove: {
    kind: number(
      `a number of seconds from ${SHORTEST_MOVES.least} to ${SHORTEST_MOVES.most}`,
      SHORTEST_MOVES,
    ),
    placeholder: 'SECONDS',
    help: 'what is faster is not meant, unless it stays (2); longer is calmer',
    ...CORRECT,
  },
  filter: {
    kind: word(FILTERS),
    placeholder: 'NAME',
    help: 'structural (default), spline, gaussian, butterworth, savitzky-golay',
    ...CORRECT,
  },
  markers: {
    kind: file(),
    placeholder: 'FILE',
    help: 'stretches that are meant or not: from_s,to_s,intent (move or hold)',
    ...CORRECT,
  },
  earlier: {
    kind: file(),
    placeholder: 'FILE',
    help: 'corrections already in the tracked footage (STEM.result.json or STEM.corrections.csv)',
    ...CORRECT,
  },
  trim: {
    kind: text(),
    placeholder: 'A..B',
    help: 'frames or time codes of the original that the tracked footage shows',
    needs: 'earlier',
    insteadOf: 'retime',
    ...CORRECT,
  },
  retime: {
    kind: file(),
    placeholder: 'FILE',
    help: 'how the tracked footage was cut or ramped: edit_s,original_s',
    needs: 'earlier',
    ...CORRECT,
  },
  timecode: {
    kind: text(),
    placeholder: 'HH:MM:SS:FF',
    help: 'time code of the clip’s first frame',
    ...CORRECT,
  },
} as const satisfies Readonly<Record<string, Setting>>;

/** The name of a setting, as a manifest and a program write it. */
export type SettingKey = keyof typeof TABLE;

/** Every setting, in the order of the help. */
export const SETTINGS: Readonly<Record<SettingKey, Setting<SettingKey>>> = TABLE;

/** How one clip is to be corrected, as a command line or a manifest says it; files by their path. */
export type ClipSettings = {
  readonly [Key in SettingKey]?: ValueOf<(typeof TABLE)[Key]['kind']>;
};

/** The settings that name files. */
type FileKey = {
  [Key in SettingKey]: (typeof TABLE)[Key]['kind'] extends { isFile: true } ? Key : never;
}[SettingKey];

/** All names of settings. */
export const SETTING_NAMES = Object.keys(SETTINGS) as readonly SettingKey[];

/** How a setting is called on the command line: `log-offset` for `logOffset`. */
export function optionOf(key: SettingKey): string {
  return key.replace(/[A-Z]/g, (letter) => `-${letter.toLowerCase()}`);
}

/** The settings that a command takes. */
export function settingsOf(command: SettingCommand): SettingKey[] {
  return SETTING_NAMES.filter((key) => SETTINGS[key].commands?.includes(command) ?? true);
}

/** The settings that name files. */
export const FILE_SETTINGS = SETTING_NAMES.filter((key) => SETTINGS[key].kind.isFile) as FileKey[];

/** The paths of the files that settings name. */
export function namedFiles(settings: ClipSettings): string[] {
  return FILE_SETTINGS.flatMap((key) => settings[key] ?? []);
}
