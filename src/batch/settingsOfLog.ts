import type { AccelerometerFile } from '../files/readJoinedLog.js';
import { parseMapping } from '../read/mapping.js';
import { type FrameRate, frameTime } from '../track/frameRate.js';
import { parseTimecode } from '../track/timecode.js';
import type { NameOf } from './checkSettings.js';
import type { LogOfClip } from './correctFile.js';
import { inNamedFile } from './inNamedFile.js';
import type { ClipSettings } from './settings.js';
import { UsageError } from './usage.js';

/** The log that goes with a clip, and the hint at where it lies. */
export function logOfSettings(
  settings: ClipSettings,
  clipRate: FrameRate | undefined,
  nameOf: NameOf,
): LogOfClip | undefined {
  const { log: path, logMapping } = settings;
  if (path === undefined) return undefined;
  const offset = offsetHint(settings, clipRate, nameOf);
  const accel = accelerometerFile(
    settings.logAccel,
    settings.logAccelMapping,
    settings.logAccelOffset,
  );
  return {
    path,
    ...(logMapping !== undefined && { mapping: inNamedFile(logMapping, parseMapping) }),
    ...(accel && { accel }),
    ...(offset && { offset }),
  };
}

/** The file of an accelerometer that has one of its own. */
export function accelerometerFile(
  path: string | undefined,
  mapping: string | undefined,
  offset: number | undefined,
): AccelerometerFile | undefined {
  if (path === undefined) return undefined;
  return {
    path,
    ...(mapping !== undefined && { mapping: inNamedFile(mapping, parseMapping) }),
    ...(offset !== undefined && { offset }),
  };
}

/** How far off a hint may be, s: a start stopped by hand or read off a clock; a clap. */
export const START_WITHIN = 5;
const CLAP_WITHIN = 0.5;

/** How long before the clip the log starts, as one of three hints says it. */
function offsetHint(
  { logOffset, logTimecode, timecode, clap }: ClipSettings,
  frameRate: FrameRate | undefined,
  nameOf: NameOf,
): LogOfClip['offset'] {
  if (logOffset !== undefined) return { value: logOffset, within: START_WITHIN };
  const given = logTimecode !== undefined ? 'logTimecode' : 'clap';
  if (logTimecode === undefined && clap === undefined) return undefined;
  if (!frameRate) throw new UsageError(`${nameOf(given)} needs ${nameOf('rate')}`);
  if (clap !== undefined) {
    // The table of settings refuses any other form.
    const [frame, second] = clap.split('@').map(Number) as [number, number];
    return { value: second - frameTime(frameRate, frame), within: CLAP_WITHIN };
  }
  if (timecode === undefined) throw new UsageError(`${nameOf(given)} needs ${nameOf('timecode')}`);
  const frames = parseTimecode(timecode, frameRate) - parseTimecode(logTimecode!, frameRate);
  return { value: frameTime(frameRate, frames), within: START_WITHIN };
}
