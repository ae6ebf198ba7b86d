import { type Place, TwinkeelError, type Warning } from '../error.js';
import { alignSigns } from '../rotation/arrays.js';
import { unitQuaternions } from '../rotation/unitQuaternions.js';
import { FRAME_TIME_SLACK, UNIT_NORM, UNIT_NORM_SILENT } from '../tolerances.js';
import { type FrameRate, formatFrameRate, frameTime } from './frameRate.js';
import { checkTimes, medianInterval, timeGaps } from './times.js';

/**
 * How the world's vertical is known: measured by an accelerometer, stated by the file or the
 * person, estimated from the way the camera is carried, or not at all.
 */
export type UpSource = 'gravity' | 'stated' | 'estimated' | 'unknown';

/** How the vertical of the world is known; one that was estimated says how well. */
export type Vertical =
  | {
      /** Where it comes from. */
      readonly up: Exclude<UpSource, 'estimated'>;
      /** Nothing but an estimate has one. */
      readonly upDeviation?: never;
    }
  | {
      /** Found from the way the camera was carried. */
      readonly up: 'estimated';
      /** Its standard deviation, rad. */
      readonly upDeviation: number;
    };

/**
 * Where the camera pointed over time. Camera axes x right, y up, z back; world y up; each
 * quaternion is camera→world, so that v_world = q v_camera q*.
 */
export type OrientationTrack = Vertical & {
  /** Seconds from the first sample, strictly increasing; length n. */
  readonly times: Float64Array;
  /** Unit quaternions x, y, z, w, sign-continuous; length 4n. */
  readonly quaternions: Float64Array;
  /** Frame number of each sample, where the samples belong to the frames of a clip. */
  readonly frames?: Int32Array;
  /** Exact frame rate, where known. */
  readonly frameRate?: FrameRate;
  /** Absolute time of the first sample in whole nanoseconds, in the time base of the file. */
  readonly startNs?: bigint;
  /** What is to know about the track, such as missing frames. */
  readonly warnings: readonly Warning[];
};

/** What a track is made from; {@link createTrack} checks it. */
export interface TrackParts {
  /** Seconds in any time base, strictly increasing; length n ≥ 2. */
  readonly times: Float64Array;
  /** Quaternions x, y, z, w, camera→world; length 4n. */
  readonly quaternions: Float64Array;
  /**
   * Frame numbers, strictly increasing; length n. When left out, counted from 0 by the rate, if every
   * time lies on a frame.
   */
  readonly frames?: Int32Array;
  /** Exact frame rate, where known. */
  readonly frameRate?: FrameRate;
  /** Absolute time of the first sample in whole nanoseconds. */
  readonly startNs?: bigint;
  /** How the vertical is known; `stated` when left out. */
  readonly up?: UpSource;
  /** Standard deviation of the vertical, rad, where it was estimated. */
  readonly upDeviation?: number;
  /** Warnings that the track shall carry on. */
  readonly warnings?: readonly Warning[];
  /** File row (from 1) of a sample, for messages. */
  readonly lineOf?: (sample: number) => number;
}

/**
 * A checked track: finite values, time that strictly increases, unit quaternions with continuous
 * signs. Small departures from unit norm are renormalised, and missing frames and gaps listed, in
 * `warnings`.
 *
 * @returns copies of the arrays, time from the first sample
 * @throws TwinkeelError `track/too-short` (fewer than two samples), `argument/shape`,
 *   `track/not-finite`, `track/not-unit`, `track/time-order`, which name the sample; `argument/invalid`
 *   for times, frames and rate that contradict each other, and for a vertical that {@link Vertical} excludes
 * @example
 * const track = createTrack({
 *   times: Float64Array.of(7, 7.02),
 *   quaternions: Float64Array.of(0, 0, 0, 1, 0, -0.6, 0, -0.8),
 * });
 * track.quaternions; // [0, 0, 0, 1, 0, 0.6, 0, 0.8], signs made continuous
 */
export function createTrack(parts: TrackParts): OrientationTrack {
  const n = parts.times.length;
  if (parts.quaternions.length !== 4 * n || (parts.frames && parts.frames.length !== n)) {
    throw new TwinkeelError('argument/shape', {
      found: `${n} times and ${parts.quaternions.length} quaternion components`,
      expected: 'four components (and one frame number, if any) for each time',
      remedy: 'pass arrays of matching length',
    });
  }
  if (n < 2) {
    throw new TwinkeelError('track/too-short', {
      found: `${n} sample${n === 1 ? '' : 's'}`,
      expected: 'at least two samples of a track',
      remedy: 'export the whole take',
    });
  }
  const place = (sample: number) =>
    parts.lineOf ? { line: parts.lineOf(sample) } : { frame: sample };
  const warnings: Warning[] = [...(parts.warnings ?? [])];
  checkTimes(parts.times, place);
  if (parts.frames) checkFrames(parts.frames, place);
  const unit = unitQuaternions(parts.quaternions);
  if ('wrong' in unit) {
    throw notUnit(parts.quaternions, unit.wrong, unit.norm, place(unit.wrong));
  }
  const { quaternions, departure } = unit;
  if (departure > UNIT_NORM_SILENT) {
    warnings.push({
      code: 'track/renormalised',
      message: `quaternion norms missed 1 by up to ${departure.toExponential(1)}; all were renormalised`,
    });
  }
  const start = parts.times[0]!;
  const times = parts.times.map((time) => time - start);
  if (parts.frames && parts.frameRate) {
    requireAgreement(times, parts.frames, parts.frameRate, place);
  }
  const frames =
    parts.frames ?? (parts.frameRate ? framesAtTimes(times, parts.frameRate) : undefined);
  const missing = frames ? describeMissingFrames(frames) : describeGaps(times);
  if (missing) warnings.push(missing);
  return {
    times,
    quaternions: alignSigns(quaternions),
    ...(frames && { frames }),
    ...(parts.frameRate && { frameRate: parts.frameRate }),
    ...(parts.startNs !== undefined && { startNs: parts.startNs }),
    ...verticalOf(parts.up ?? 'stated', parts.upDeviation),
    warnings,
  };
}

/**
 * How a vertical is known.
 *
 * @throws TwinkeelError `argument/invalid` for an estimate without a deviation, or one of anything else
 */
export function verticalOf(up: UpSource, upDeviation: number | undefined): Vertical {
  if (up === 'estimated' && upDeviation !== undefined) return { up, upDeviation };
  if (up !== 'estimated' && upDeviation === undefined) return { up };
  throw new TwinkeelError('argument/invalid', {
    found: `a vertical that is ${up}, with ${upDeviation === undefined ? 'no deviation' : 'a deviation'}`,
    expected: 'a deviation of a vertical that was estimated, and of no other',
    remedy: 'pass upDeviation together with up: "estimated"',
  });
}

/** The track with other orientations at the same times; no check is repeated. */
export function withQuaternions(
  track: OrientationTrack,
  quaternions: Float64Array,
): OrientationTrack {
  return { ...track, quaternions: alignSigns(quaternions) };
}

/** The sentence about a sample that is no rotation. */
function notUnit(
  quaternions: Float64Array,
  sample: number,
  norm: number,
  place: Place,
): TwinkeelError {
  if (Number.isFinite(norm)) {
    return new TwinkeelError('track/not-unit', {
      ...place,
      found: `a quaternion of norm ${norm.toPrecision(6)}`,
      expected: `a unit quaternion (norm within ${UNIT_NORM} of 1)`,
      remedy: 'check which columns hold x, y, z and w, or leave the sample out',
    });
  }
  return new TwinkeelError('track/not-finite', {
    ...place,
    found: `the quaternion (${quaternions.subarray(4 * sample, 4 * sample + 4).join(', ')})`,
    expected: 'four finite numbers',
    remedy: 'leave the sample out of the file; gaps are bridged',
  });
}

function checkFrames(
  frames: Int32Array,
  place: (sample: number) => { line?: number; frame?: number },
): void {
  for (let k = 1; k < frames.length; k++) {
    if (frames[k]! <= frames[k - 1]!) {
      const same = frames[k] === frames[k - 1];
      throw new TwinkeelError('track/time-order', {
        ...place(k),
        column: 'frame',
        found: same
          ? `frame ${frames[k]} a second time`
          : `frame ${frames[k]} after ${frames[k - 1]}`,
        expected: 'frame numbers that increase',
        remedy: 'sort the rows by frame and remove duplicates',
      });
    }
  }
}

/** Stamps of a clock that runs beside the frames may stray from them by this, periods (our judgement). */
const STRAY = 1;

/** Frames, rate and times say the same thing thrice; where they do not, nobody knows which is right. */
function requireAgreement(
  times: Float64Array,
  frames: Int32Array,
  rate: FrameRate,
  place: (sample: number) => Place,
): void {
  const period = frameTime(rate, 1);
  for (let k = 0; k < times.length; k++) {
    const expected = frameTime(rate, frames[k]! - frames[0]!);
    if (Math.abs(times[k]! - expected) <= STRAY * period) continue;
    throw new TwinkeelError('track/contradiction', {
      ...place(k),
      found: `frame ${frames[k]} at ${times[k]!.toFixed(4)} s from the first sample`,
      expected: `${expected.toFixed(4)} s, as ${formatFrameRate(rate)} frames per second say`,
      remedy: 'correct the frame rate, or leave out the frame numbers or the times',
    });
  }
}

/** Frame numbers of samples, counted from the first, when every time lies close to a frame. */
function framesAtTimes(times: Float64Array, rate: FrameRate): Int32Array | undefined {
  const frames = new Int32Array(times.length);
  const period = frameTime(rate, 1);
  for (let k = 0; k < frames.length; k++) {
    const frame = Math.round((times[k]! * rate.numerator) / rate.denominator);
    if (Math.abs(times[k]! - frameTime(rate, frame)) > FRAME_TIME_SLACK * period) return undefined;
    if (k > 0 && frame <= frames[k - 1]!) return undefined;
    frames[k] = frame;
  }
  return frames;
}

function describeMissingFrames(frames: Int32Array): Warning | undefined {
  const runs: string[] = [];
  let count = 0;
  for (let k = 1; k < frames.length; k++) {
    const first = frames[k - 1]! + 1;
    const last = frames[k]! - 1;
    if (last < first) continue;
    count += last - first + 1;
    runs.push(first === last ? `${first}` : `${first}–${last}`);
  }
  if (count === 0) return undefined;
  return {
    code: 'track/missing-frames',
    message: `${count} frame${count === 1 ? ' is' : 's are'} missing: ${listed(runs)}`,
  };
}

/** What is to know about samples that are missing, where some are. */
export function describeGaps(times: Float64Array): Warning | undefined {
  const period = medianInterval(times);
  const gaps = timeGaps(times, period);
  if (gaps.length === 0) return undefined;
  const words = gaps.map(
    ({ after, length }) => `${length.toFixed(3)} s at ${times[after]!.toFixed(3)} s`,
  );
  return {
    code: 'track/gap',
    message: `samples usually ${(period * 1000).toFixed(2)} ms apart leave ${gaps.length} gap${gaps.length === 1 ? '' : 's'}: ${listed(words)}`,
  };
}

/** The first few of a list, and how many more. */
function listed(words: readonly string[]): string {
  const shown = words.slice(0, 8).join(', ');
  return words.length > 8 ? `${shown} and ${words.length - 8} more` : shown;
}
