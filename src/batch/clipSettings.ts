import type { CorrectOptions } from '../correct.js';
import type { ReadFileOptions } from '../files/openRecording.js';
import type { AccelerometerFile } from '../files/readJoinedLog.js';
import { type KeyClock, readAimFile, readMarkersFile } from '../files/readKeys.js';
import { type Mapping, parseMapping } from '../read/mapping.js';
import type { AngleSigns } from '../read/openTrackIo.js';
import { type RigDescription, readRig } from '../rig/stereoRig.js';
import { type FrameRate, parseFrameRate } from '../track/frameRate.js';
import { checkSettings, type NameOf, optionNameOf, wrongValue } from './checkSettings.js';
import type { LogOfClip } from './correctFile.js';
import { inNamedFile } from './inNamedFile.js';
import { readEarlier } from './readEarlier.js';
import type { ClipSettings } from './settings.js';
import { accelerometerFile, logOfSettings } from './settingsOfLog.js';
import { wrongUse } from './usage.js';

/** What `correct()` takes, and what else a clip needs, once every named file has been read. */
export interface LoadedSettings {
  readonly read: ReadFileOptions;
  readonly correct: CorrectOptions;
  readonly rig?: RigDescription;
  readonly log?: LogOfClip;
  /** The accelerometer of a clip that is itself a gyroscope's log. */
  readonly accel?: AccelerometerFile;
}

/**
 * Checks every value and reads every file that the settings name.
 *
 * @param nameOf - how a setting is called where it was written: `--level`, `"level"`
 * @throws UsageError for values, TwinkeelError for files
 */
export async function loadSettings(
  settings: ClipSettings,
  nameOf: NameOf = optionNameOf,
): Promise<LoadedSettings> {
  checkSettings(settings, nameOf);
  const read = howToRead(settings);
  const clipRate = rateOfClip(read);
  const rig = settings.rig === undefined ? undefined : rigOf(settings.rig, settings.nearest);
  const earlier = await readEarlier(settings, clipRate, nameOf);
  // A second pass lies on the frames of the original, whose first one carries the time code.
  const clock = {
    rate: earlier?.frameRate ?? clipRate,
    ...{ timecode: settings.timecode, firstFrame: earlier?.frames?.[0] },
  };
  const accel = accelerometerFile(settings.accel, settings.accelMapping, settings.accelOffset);
  const log = logOfSettings(settings, clipRate, nameOf);
  return {
    read,
    correct: {
      ...howToSeparate(settings),
      ...(await pathOf(settings, clock)),
      ...(read.frameRate && { frameRate: read.frameRate }),
      ...(rig && { rig: rig.rig }),
      ...(settings.picture !== undefined && { picture: settings.picture }),
      ...(settings.timecode !== undefined && { timecode: settings.timecode }),
      limits: limitsOf(settings),
      ...(earlier && { earlier: [earlier] }),
    },
    ...(rig && { rig }),
    ...(accel && { accel }),
    ...(log && { log }),
  };
}

/** Mapping and format, and the rate at which rows are frames. */
function howToRead({ mapping, format, flip, rate }: ClipSettings): ReadFileOptions & {
  readonly mapping?: Mapping;
} {
  return {
    ...(mapping !== undefined && { mapping: inNamedFile(mapping, parseMapping) }),
    ...(format !== undefined && { format }),
    ...(rate !== undefined && { frameRate: parseFrameRate(rate) }),
    signs: parseFlip(flip),
  };
}

/** A mapping that counts frames says the clip's rate as well as a setting does. */
function rateOfClip({ frameRate, mapping }: ReturnType<typeof howToRead>): FrameRate | undefined {
  const time = mapping?.time;
  return frameRate ?? (time && 'rate' in time ? time.rate : undefined);
}

function howToSeparate({ shot = 'auto', shortestMove, filter }: ClipSettings) {
  return {
    shot,
    ...(shortestMove !== undefined && { shortestMove }),
    ...(filter !== undefined && { filter }),
  };
}

/** Where the view shall look, what stays of the roll, and which moves are meant. */
async function pathOf({ level, levelAt, aim, markers }: ClipSettings, clock: KeyClock) {
  return {
    ...(level !== undefined && { level }),
    ...(levelAt !== undefined && { levelAt }),
    ...(aim !== undefined && { aim: await readAimFile(aim, clock) }),
    ...(markers !== undefined && { markers: await readMarkersFile(markers, clock) }),
  };
}

/** How far the correction may go. */
function limitsOf({ limit, uncovered }: ClipSettings): NonNullable<CorrectOptions['limits']> {
  return {
    ...(limit === 'none' && { verticalDisparityArcmin: Number.POSITIVE_INFINITY, uncovered: 1 }),
    ...(typeof limit === 'number' && { totalDeg: limit }),
    ...(uncovered !== undefined && { uncovered }),
  };
}

/** The rig of a file, with the nearest subject of the clip where that is said. */
function rigOf(path: string, nearest: number | undefined): RigDescription {
  const { rig, assumed } = inNamedFile(path, readRig);
  if (nearest === undefined) return { rig, assumed };
  return {
    rig: { ...rig, nearestSubjectM: nearest },
    assumed: assumed.filter((name) => name !== 'nearestSubjectM'),
  };
}

/** Signs of the angles named in a list such as `pan,roll`. */
export function parseFlip(words: string | undefined): AngleSigns {
  if (words === undefined) return {};
  const wrong = wrongValue('flip', words);
  if (wrong) throw wrongUse(optionNameOf('flip'), wrong);
  return Object.fromEntries(words.split(',').map((name) => [name, -1]));
}
