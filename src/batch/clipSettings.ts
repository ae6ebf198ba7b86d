import type { CorrectOptions } from '../correct.js';
import { errorInFile } from '../error.js';
import type { ReadFileOptions } from '../files/openRecording.js';
import { readBytes } from '../files/readFile.js';
import type { AccelerometerFile } from '../files/readJoinedLog.js';
import { readAimFile, readMarkersFile, readRetimingFile } from '../files/readKeys.js';
import { readCorrections } from '../handoff/csv.js';
import { readResult } from '../handoff/json.js';
import { CLASSIC_FILTERS } from '../motion/classicFilters.js';
import { type FilterName, SHORTEST_MOVES } from '../motion/separate.js';
import type { ShotKind } from '../motion/shot.js';
import { parseMapping } from '../read/mapping.js';
import { OPEN_FORMAT_NAMES, type OpenFormatName } from '../read/openFormats.js';
import type { AngleSigns } from '../read/openTrackIo.js';
import { decodeText } from '../read/text.js';
import { PROJECTIONS, type Projection } from '../rig/picture.js';
import { type RigDescription, readRig } from '../rig/stereoRig.js';
import type { Corrections, EarlierCorrections } from '../track/corrections.js';
import { type FrameRate, frameTime, parseFrameRate } from '../track/frameRate.js';
import { type Retiming, trimmed } from '../track/retiming.js';
import { parseTimecode } from '../track/timecode.js';
import type { LogOfClip } from './correctFile.js';
import { parseFrameSpan } from './frameSpan.js';
import { numberOf, type Options, textOf, UsageError } from './usage.js';

/** How one clip is to be corrected, as a command line or a manifest says it; files by their path. */
export interface ClipSettings {
  readonly mapping?: string;
  readonly format?: string;
  readonly flip?: string;
  readonly rate?: string;
  readonly shot?: string;
  readonly level?: number;
  readonly levelAt?: number;
  readonly aim?: string;
  readonly limit?: number | 'none';
  readonly uncovered?: number | 'never';
  readonly picture?: string;
  readonly filter?: string;
  readonly shortestMove?: number;
  readonly markers?: string;
  readonly log?: string;
  readonly logOffset?: number;
  readonly logTimecode?: string;
  readonly clap?: string;
  readonly logMapping?: string;
  readonly logAccel?: string;
  readonly logAccelMapping?: string;
  readonly logAccelOffset?: number;
  readonly accel?: string;
  readonly accelMapping?: string;
  readonly accelOffset?: number;
  readonly rig?: string;
  readonly earlier?: string;
  readonly trim?: string;
  readonly timecode?: string;
  readonly retime?: string;
}

/** The settings that name files. */
export const FILE_SETTINGS = [
  'mapping',
  'aim',
  'markers',
  'log',
  'logMapping',
  'logAccel',
  'logAccelMapping',
  'accel',
  'accelMapping',
  'rig',
  'earlier',
  'retime',
] as const;

/** What `correct()` takes, and what else a clip needs, once every named file has been read. */
export interface LoadedSettings {
  readonly read: ReadFileOptions;
  readonly correct: CorrectOptions;
  readonly rig?: RigDescription;
  readonly log?: LogOfClip;
  /** The accelerometer of a clip that is itself a gyroscope's log. */
  readonly accel?: AccelerometerFile;
}

type Reader = (options: Options, key: string) => string | number | undefined;

/** A word of its own, or a number. */
const wordOrNumber =
  (word: string, expected: string): Reader =>
  (options, key) => {
    const text = textOf(options, key);
    if (text === undefined || text === word) return text;
    const number = text.trim() === '' ? Number.NaN : Number(text);
    if (Number.isNaN(number)) throw new UsageError(`--${key} ${text} is ${expected}`);
    return number;
  };

const LIMIT_WORDS = 'not an angle above 0° or "none"';
const UNCOVERED_WORDS = 'neither "never" nor a share from 0 to 1';

/** Every setting: its name on the command line, and how its text is understood. */
const SETTINGS: Readonly<Record<keyof ClipSettings, { said: string; read: Reader }>> = {
  mapping: { said: 'mapping', read: textOf },
  format: { said: 'format', read: textOf },
  flip: { said: 'flip', read: textOf },
  rate: { said: 'rate', read: textOf },
  shot: { said: 'shot', read: textOf },
  level: { said: 'level', read: numberOf },
  levelAt: { said: 'level-at', read: numberOf },
  aim: { said: 'aim', read: textOf },
  limit: { said: 'limit', read: wordOrNumber('none', LIMIT_WORDS) },
  uncovered: { said: 'uncovered', read: wordOrNumber('never', UNCOVERED_WORDS) },
  picture: { said: 'picture', read: textOf },
  filter: { said: 'filter', read: textOf },
  shortestMove: { said: 'shortest-move', read: numberOf },
  markers: { said: 'markers', read: textOf },
  log: { said: 'log', read: textOf },
  logOffset: { said: 'log-offset', read: numberOf },
  logTimecode: { said: 'log-timecode', read: textOf },
  clap: { said: 'clap', read: textOf },
  logMapping: { said: 'log-mapping', read: textOf },
  logAccel: { said: 'log-accel', read: textOf },
  logAccelMapping: { said: 'log-accel-mapping', read: textOf },
  logAccelOffset: { said: 'log-accel-offset', read: numberOf },
  accel: { said: 'accel', read: textOf },
  accelMapping: { said: 'accel-mapping', read: textOf },
  accelOffset: { said: 'accel-offset', read: numberOf },
  rig: { said: 'rig', read: textOf },
  earlier: { said: 'earlier', read: textOf },
  trim: { said: 'trim', read: textOf },
  timecode: { said: 'timecode', read: textOf },
  retime: { said: 'retime', read: textOf },
};

/** The settings that a command line gives. */
export function settingsFromOptions(options: Options): ClipSettings {
  const given = Object.entries(SETTINGS).map(([key, { said, read }]) => [key, read(options, said)]);
  return Object.fromEntries(given.filter(([, value]) => value !== undefined)) as ClipSettings;
}

/** All names of settings. */
export const SETTING_NAMES: readonly string[] = Object.keys(SETTINGS);

/**
 * Checks every value and reads every file that the settings name.
 *
 * @param nameOf - how a setting is called where it was written: `--level`, `"level"`
 * @throws UsageError for values, TwinkeelError for files
 */
export async function loadSettings(
  settings: ClipSettings,
  nameOf: (key: keyof ClipSettings) => string = (key) => `--${SETTINGS[key].said}`,
): Promise<LoadedSettings> {
  checkValues(settings, nameOf);
  const { limit, uncovered, level, levelAt, filter } = settings;
  const { format, picture } = settings;
  const mapping =
    settings.mapping === undefined ? undefined : inFile(settings.mapping, parseMapping);
  const frameRate = settings.rate === undefined ? undefined : parseFrameRate(settings.rate);
  // A mapping that counts frames says the clip's rate as well as an option does.
  const time = mapping?.time;
  const clipRate = frameRate ?? (time && 'rate' in time ? time.rate : undefined);
  const rig = settings.rig === undefined ? undefined : inFile(settings.rig, readRig);
  const earlier = await readEarlier(settings, clipRate, nameOf);
  const offset = offsetHint(settings, clipRate, nameOf);
  // A second pass lies on the frames of the original, whose first one carries the time code.
  const clock = {
    rate: earlier?.frameRate ?? clipRate,
    ...{ timecode: settings.timecode, firstFrame: earlier?.frames?.[0] },
  };
  const logMapping =
    settings.logMapping === undefined ? undefined : inFile(settings.logMapping, parseMapping);
  const logAccel = accelerometerFile(
    settings.logAccel,
    settings.logAccelMapping,
    settings.logAccelOffset,
  );
  const accel = accelerometerFile(settings.accel, settings.accelMapping, settings.accelOffset);
  return {
    read: {
      ...(mapping && { mapping }),
      ...(format !== undefined && { format: format as OpenFormatName }),
      ...(frameRate && { frameRate }),
      signs: parseFlip(settings.flip),
    },
    correct: {
      shot: (settings.shot ?? 'auto') as 'auto' | ShotKind,
      ...(frameRate && { frameRate }),
      ...(level !== undefined && { level }),
      ...(settings.shortestMove !== undefined && { shortestMove: settings.shortestMove }),
      ...(levelAt !== undefined && { levelAt }),
      ...(rig && { rig: rig.rig }),
      ...(picture !== undefined && { picture: picture as Projection }),
      limits: {
        ...(limit === 'none' && {
          verticalDisparityArcmin: Number.POSITIVE_INFINITY,
          uncovered: 1,
        }),
        ...(typeof limit === 'number' && { totalDeg: limit }),
        ...(uncovered !== undefined && { uncovered }),
      },
      ...(filter !== undefined && { filter: filter as FilterName }),
      ...(settings.aim !== undefined && { aim: await readAimFile(settings.aim, clock) }),
      ...(earlier && { earlier: [earlier] }),
      ...(settings.markers !== undefined && {
        markers: await readMarkersFile(settings.markers, clock),
      }),
    },
    ...(rig && { rig }),
    ...(accel && { accel }),
    ...(settings.log !== undefined && {
      log: {
        path: settings.log,
        ...(logMapping && { mapping: logMapping }),
        ...(logAccel && { accel: logAccel }),
        ...(offset && { offset }),
      },
    }),
  };
}

/** The file of an accelerometer that has one of its own. */
function accelerometerFile(
  path: string | undefined,
  mapping: string | undefined,
  offset: number | undefined,
): AccelerometerFile | undefined {
  if (path === undefined) return undefined;
  return {
    path,
    ...(mapping !== undefined && { mapping: inFile(mapping, parseMapping) }),
    ...(offset !== undefined && { offset }),
  };
}

/** How far off a hint may be, s: a start stopped by hand or read off a clock; a clap. */
const START_WITHIN = 5;
const CLAP_WITHIN = 0.5;

/** How long before the clip the log starts, as one of three hints says it. */
function offsetHint(
  { logOffset, logTimecode, timecode, clap }: ClipSettings,
  frameRate: FrameRate | undefined,
  nameOf: (key: keyof ClipSettings) => string,
): LogOfClip['offset'] {
  if (logOffset !== undefined) return { value: logOffset, within: START_WITHIN };
  const given = logTimecode !== undefined ? 'logTimecode' : 'clap';
  if (logTimecode === undefined && clap === undefined) return undefined;
  if (!frameRate) throw new UsageError(`${nameOf(given)} needs ${nameOf('rate')}`);
  if (clap !== undefined) {
    const match = /^(\d+)@(-?\d+(?:\.\d+)?)$/.exec(clap);
    if (!match) {
      throw new UsageError(
        `${nameOf('clap')} ${clap} is not the frame of the clip and the second of the log, such as 132@7.25`,
      );
    }
    const value = Number(match[2]) - frameTime(frameRate, Number(match[1]));
    return { value, within: CLAP_WITHIN };
  }
  if (timecode === undefined) throw new UsageError(`${nameOf(given)} needs ${nameOf('timecode')}`);
  const frames = parseTimecode(timecode, frameRate) - parseTimecode(logTimecode!, frameRate);
  return { value: frameTime(frameRate, frames), within: START_WITHIN };
}

/** Settings that mean nothing without another one. */
const NEEDS: readonly (readonly [keyof ClipSettings, keyof ClipSettings])[] = [
  ['trim', 'earlier'],
  ['retime', 'earlier'],
  ['uncovered', 'rig'],
  ['logMapping', 'log'],
  ['logAccel', 'log'],
  ['logAccelMapping', 'logAccel'],
  ['logAccelOffset', 'logAccel'],
  ['accelMapping', 'accel'],
  ['accelOffset', 'accel'],
  ['logOffset', 'log'],
  ['logTimecode', 'log'],
  ['clap', 'log'],
];

const SHOTS = ['auto', 'travelling', 'pan', 'locked-off'];
const FILTERS = ['structural', ...Object.keys(CLASSIC_FILTERS)];

/** Refuses values that no clip can have. */
export function checkValues(
  settings: ClipSettings,
  nameOf: (key: keyof ClipSettings) => string,
): void {
  const { level, limit, uncovered, picture, shot, filter, format, shortestMove } = settings;
  const refuse = (key: keyof ClipSettings, expected: string) => {
    throw new UsageError(`${nameOf(key)} ${settings[key]} is ${expected}`);
  };
  if (level !== undefined && !(level >= 0 && level <= 1)) {
    refuse('level', 'not a share from 0 to 1');
  }
  const { least, most } = SHORTEST_MOVES;
  if (shortestMove !== undefined && !(shortestMove >= least && shortestMove <= most)) {
    refuse('shortestMove', `not a number of seconds from ${least} to ${most}`);
  }
  if (limit !== undefined && limit !== 'none' && !(limit > 0)) {
    refuse('limit', LIMIT_WORDS);
  }
  if (uncovered !== undefined && uncovered !== 'never' && !(uncovered >= 0 && uncovered <= 1)) {
    refuse('uncovered', UNCOVERED_WORDS);
  }
  if (picture !== undefined && !PROJECTIONS.includes(picture as Projection)) {
    refuse('picture', `none of ${PROJECTIONS.join(', ')}`);
  }
  if (shot !== undefined && !SHOTS.includes(shot)) refuse('shot', `none of ${SHOTS.join(', ')}`);
  if (filter !== undefined && !FILTERS.includes(filter)) {
    refuse('filter', `none of ${FILTERS.join(', ')}`);
  }
  if (format !== undefined && !OPEN_FORMAT_NAMES.includes(format as OpenFormatName)) {
    refuse('format', `none of ${OPEN_FORMAT_NAMES.join(', ')}`);
  }
  for (const [key, needed] of NEEDS) {
    if (settings[key] !== undefined && settings[needed] === undefined) {
      refuse(key, `of no use without ${nameOf(needed)}`);
    }
  }
  if (settings.trim !== undefined && settings.retime !== undefined) {
    refuse('trim', `a second answer beside ${nameOf('retime')}`);
  }
}

/** Signs of the angles named in a list such as `pan,roll`. */
export function parseFlip(words: string | undefined): AngleSigns {
  const names = words?.split(',') ?? [];
  const wrong = names.find((name) => !['pan', 'tilt', 'roll'].includes(name));
  if (wrong !== undefined) throw new UsageError(`"${wrong}" is none of pan, tilt, roll`);
  return Object.fromEntries(names.map((name) => [name, -1]));
}

async function readEarlier(
  { earlier, retime, trim, timecode }: ClipSettings,
  clipRate: FrameRate | undefined,
  nameOf: (key: keyof ClipSettings) => string,
): Promise<EarlierCorrections | undefined> {
  if (earlier === undefined) return undefined;
  const read = inFile(earlier, correctionsOfText);
  // A result knows the rate of the original; a table of corrections is taken at the clip's.
  const frameRate = read.frameRate ?? clipRate;
  const corrections = { ...read, ...(frameRate && { frameRate }) };
  let retiming: Retiming | undefined;
  if (retime !== undefined) retiming = await readRetimingFile(retime);
  if (trim !== undefined) {
    if (!frameRate) {
      throw new UsageError(
        `${nameOf('trim')} needs ${nameOf('rate')}, a mapping that counts frames, or a STEM.result.json as ${nameOf('earlier')}`,
      );
    }
    const first = corrections.frames?.[0] ?? 0;
    const { from, to } = parseFrameSpan(trim, { rate: frameRate, first, timecode });
    // An end left out is that of the corrections.
    const last = first + corrections.times.length - 1;
    retiming = trimmed(
      frameTime(frameRate, Math.max(from, first) - first),
      frameTime(frameRate, Math.min(to, last) - first),
    );
  }
  return { ...corrections, ...(retiming && { retiming }) };
}

/** Corrections from a table of them, or from a result, which begins with a brace. */
function correctionsOfText(text: string): Corrections {
  return /^\s*\{/.test(text) ? readResult(text).corrections : readCorrections(text);
}

function inFile<T>(path: string, read: (text: string) => T): T {
  try {
    return read(decodeText(readBytes(path)));
  } catch (error) {
    throw errorInFile(error, path);
  }
}

/** The paths of the files that the settings name. */
export function namedFiles(settings: ClipSettings): string[] {
  return FILE_SETTINGS.flatMap((key) => settings[key] ?? []);
}
