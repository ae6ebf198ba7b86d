import { TwinkeelError } from '../error.js';
import { alignSigns, quaternionAt } from '../rotation/arrays.js';
import { slerp, squad } from '../rotation/interpolate.js';
import {
  invertQuaternion,
  multiplyQuaternions,
  type Quaternion,
  type Vector3,
} from '../rotation/quaternion.js';
import {
  quaternionFromRotationVector,
  rotationVectorFromQuaternion,
} from '../rotation/rotationVector.js';
import { type FrameRate, framesPerSecond, frameTimes } from './frameRate.js';
import type { OrientationTrack } from './orientationTrack.js';
import { medianInterval, timeGaps } from './times.js';

/** `slerp` keeps the angular rate constant between samples, `squad` keeps it continuous. */
export type Interpolation = 'slerp' | 'squad';

/**
 * Orientations at other times. Before the first and after the last sample the nearest is held.
 * `squad` takes the uneven spacing of the samples into account and falls back to `slerp` next to
 * gaps.
 *
 * @param track - any track
 * @param times - seconds from the first sample, increasing; length m
 * @returns unit quaternions x, y, z, w, sign-continuous; length 4m; cost O(n + m)
 */
export function interpolateTrack(
  track: OrientationTrack,
  times: Float64Array,
  interpolation: Interpolation = 'slerp',
): Float64Array {
  const out = new Float64Array(4 * times.length);
  const last = track.times.length - 1;
  const rough = new Set(
    timeGaps(track.times).flatMap(({ after }) => [after - 1, after, after + 1]),
  );
  let k = 0;
  for (let m = 0; m < times.length; m++) {
    const time = times[m]!;
    while (k < last - 1 && track.times[k + 1]! <= time) k++;
    const share = (time - track.times[k]!) / (track.times[k + 1]! - track.times[k]!);
    const t = Math.min(Math.max(share, 0), 1);
    const a = quaternionAt(track.quaternions, k);
    const b = quaternionAt(track.quaternions, k + 1);
    const inside = k > 0 && k + 2 <= last && !rough.has(k);
    const q =
      t === 0
        ? a
        : t === 1
          ? b
          : interpolation === 'squad' && inside
            ? squad(a, b, ...controls(track, k), t)
            : slerp(a, b, t);
    out.set(q, 4 * m);
  }
  return alignSigns(out);
}

/**
 * Control quaternions of the stretch from sample k to k + 1: they give the curve at both ends the
 * angular rate of the parabola through the three nearest samples. Evenly spaced, they are those of
 * Shoemake 1987.
 */
function controls({ times, quaternions }: OrientationTrack, k: number): [Quaternion, Quaternion] {
  const span = times[k + 1]! - times[k]!;
  const control = (at: number, sign: 1 | -1): Quaternion => {
    const q = quaternionAt(quaternions, at);
    const inverse = invertQuaternion(q);
    const towards = (j: number) =>
      rotationVectorFromQuaternion(multiplyQuaternions(inverse, quaternionAt(quaternions, j)));
    const next = towards(at + 1);
    const previous = towards(at - 1);
    const after = times[at + 1]! - times[at]!;
    const before = times[at]! - times[at - 1]!;
    const here = sign > 0 ? next : previous;
    const half = [0, 1, 2].map((axis) => {
      const rate =
        ((before / after) * next[axis]! - (after / before) * previous[axis]!) / (before + after);
      return (sign * rate * span - here[axis]!) / 2;
    });
    return multiplyQuaternions(q, quaternionFromRotationVector(half as unknown as Vector3));
  };
  return [control(k, 1), control(k + 1, -1)];
}

/** A track on the frames of a clip, and which of its frames had no sample of their own. */
export interface FramedTrack {
  readonly track: OrientationTrack;
  /** Frames whose orientation was interpolated because the file has no row for them. */
  readonly bridged: Int32Array;
}

/** The longest stretch without samples that is bridged by interpolation, seconds (our judgement). */
export const LONGEST_BRIDGE = 2;

/**
 * The track on every frame of a clip. Where the samples already lie on frames they are kept to the
 * last bit and only missing frames are interpolated; any other sampling is interpolated.
 *
 * @param track - any track; its first sample is the first frame
 * @param rate - exact frame rate of the clip; the track's own when left out
 * @throws TwinkeelError `track/gap` when more than 2 s are without samples
 */
export function resampleToFrames(track: OrientationTrack, rate?: FrameRate): FramedTrack {
  for (const gap of timeGaps(track.times)) {
    if (gap.length > LONGEST_BRIDGE) {
      throw new TwinkeelError('track/gap', {
        timeS: track.times[gap.after]!,
        found: `${gap.length.toFixed(2)} s without a sample`,
        expected: `gaps of at most ${LONGEST_BRIDGE} s`,
        remedy: 'split the clip there, or track the missing stretch',
      });
    }
  }
  const limit = longestMissingRun(track);
  track.frames?.forEach((frame, k) => {
    const missing = k === 0 ? 0 : frame - track.frames![k - 1]! - 1;
    if (missing <= limit) return;
    throw new TwinkeelError('track/gap', {
      frame,
      found: `${missing} frames missing before it`,
      expected: `at most ${limit} (${LONGEST_BRIDGE} s)`,
      remedy: 'check the frame number, split the clip there, or track the missing stretch',
    });
  });
  if (track.frames && (!rate || (track.frameRate && isSameRate(rate, track.frameRate)))) {
    return fillMissingFrames(track, track.frames);
  }
  if (!rate) return { track, bridged: new Int32Array(0) };
  const last = track.times[track.times.length - 1]!;
  // A last frame that rounding puts a hair behind the last sample still counts.
  const count = Math.floor(last * framesPerSecond(rate) + 1e-6) + 1;
  const times = frameTimes(rate, count);
  return {
    track: {
      ...track,
      times,
      quaternions: interpolateTrack(track, times, 'squad'),
      frames: Int32Array.from(times, (_, k) => k),
      frameRate: rate,
    },
    bridged: new Int32Array(0),
  };
}

/** Frames in the longest stretch that is bridged, by the track's own rate. */
function longestMissingRun(track: OrientationTrack): number {
  const perSecond = track.frameRate
    ? framesPerSecond(track.frameRate)
    : 1 / medianInterval(track.times);
  return Math.ceil(LONGEST_BRIDGE * perSecond);
}

/** The track with a sample for every frame; its own samples keep their values. */
function fillMissingFrames(track: OrientationTrack, own: Int32Array): FramedTrack {
  const first = own[0]!;
  const count = own[own.length - 1]! - first + 1;
  const frames = Int32Array.from({ length: count }, (_, k) => first + k);
  const rate = track.frameRate;
  const exact = rate && frameTimes(rate, count);
  const times = new Float64Array(count);
  const bridged: number[] = [];
  for (let k = 0, sample = 0; k < count; k++) {
    if (own[sample] === first + k) {
      times[k] = exact ? exact[k]! : track.times[sample]!;
      sample++;
      continue;
    }
    bridged.push(first + k);
    const before = own[sample - 1]!;
    const share = (first + k - before) / (own[sample]! - before);
    times[k] = exact
      ? exact[k]!
      : track.times[sample - 1]! + share * (track.times[sample]! - track.times[sample - 1]!);
  }
  const sampleTimes = Float64Array.from(own, (frame) => times[frame - first]!);
  const quaternions = interpolateTrack({ ...track, times: sampleTimes }, times, 'squad');
  return {
    track: { ...track, times, quaternions, frames },
    bridged: Int32Array.from(bridged),
  };
}

function isSameRate(a: FrameRate, b: FrameRate): boolean {
  return a.numerator * b.denominator === b.numerator * a.denominator;
}
