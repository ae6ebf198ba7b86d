import { TwinkeelError } from '../error.js';
import { clamp } from '../math.js';
import { alignSignsInPlace, quaternionAt } from '../rotation/arrays.js';
import { squad } from '../rotation/interpolate.js';
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
import { SERIES_CHORD } from '../tolerances.js';
import { type FrameRate, framesPerSecond, frameTimes } from './frameRate.js';
import type { OrientationTrack } from './orientationTrack.js';
import { intervalOfHalfTheTime, medianInterval, requireDense, timeGaps } from './times.js';

/** `slerp` keeps the angular rate constant between samples, `squad` keeps it continuous. */
export type Interpolation = 'slerp' | 'squad';

/**
 * Orientations at other times. Before the first and after the last sample the nearest is held.
 * `squad` takes the uneven spacing of the samples into account and falls back to `slerp` next to
 * gaps.
 *
 * @param track - any track
 * @param times - seconds from the first sample, increasing; length m
 * @param interpolation - `slerp` (default) or `squad`
 * @returns unit quaternions x, y, z, w, sign-continuous; length 4m; cost O(n + m)
 * @throws TwinkeelError `argument/invalid` for a time that is not a number
 * @example
 * const between = interpolateTrack(track, Float64Array.of(1, 1.005), 'squad');
 * angularDistance(quaternionAt(between, 0), quaternionAt(track.quaternions, 60)); // 0 rad
 */
export function interpolateTrack(
  track: OrientationTrack,
  times: Float64Array,
  interpolation: Interpolation = 'slerp',
): Float64Array {
  const out = slerpAlong(track, times);
  if (interpolation === 'squad') curveInside(track, times, out);
  alignSignsInPlace(out);
  return out;
}

/**
 * The single {@link slerp} for every time, on the shorter way, without its calls and arrays: a weight
 * for each end, sin((1 − t)θ)/sin θ and sin(tθ)/sin θ with the angle θ between two quaternions.
 *
 * @see Shoemake, "Animating rotation with quaternion curves", SIGGRAPH 1985
 */
function slerpAlong(track: OrientationTrack, times: Float64Array): Float64Array {
  const { times: own, quaternions } = track;
  const out = new Float64Array(4 * times.length);
  const last = own.length - 1;
  const perSecond = last / (own[last]! - own[0]!);
  let k = 0;
  for (let m = 0, o = 0; m < times.length; m++, o += 4) {
    const time = times[m]!;
    // Even spacing saves most of the way; where it overshoots, the search goes step by step.
    const guess = Math.floor((time - own[0]!) * perSecond) - 2;
    if (guess > k && guess < last && own[guess]! <= time) k = guess;
    while (k < last - 1 && own[k + 1]! <= time) k++;
    const share = (time - own[k]!) / (own[k + 1]! - own[k]!);
    const t = clamp(share, 0, 1);
    if (Number.isNaN(t)) throw notATime(time, m);
    const i = 4 * k;
    const ax = quaternions[i]!;
    const ay = quaternions[i + 1]!;
    const az = quaternions[i + 2]!;
    const aw = quaternions[i + 3]!;
    const nx = quaternions[i + 4]!;
    const ny = quaternions[i + 5]!;
    const nz = quaternions[i + 6]!;
    const nw = quaternions[i + 7]!;
    const sign = ax * nx + ay * ny + (az * nz + aw * nw) < 0 ? -1 : 1;
    const bx = sign * nx;
    const by = sign * ny;
    const bz = sign * nz;
    const bw = sign * nw;
    // The chord |b − a| = 2 sin(θ/2) keeps the digits that 1 − cos θ loses.
    const chordSquared = squaredNorm(bx - ax, by - ay, bz - az, bw - aw);
    let atA: number;
    let atB: number;
    if (chordSquared < SERIES_CHORD * SERIES_CHORD) {
      atA = slerpWeight(1 - t, -chordSquared / 2);
      atB = slerpWeight(t, -chordSquared / 2);
    } else {
      const sum = Math.sqrt(squaredNorm(ax + bx, ay + by, az + bz, aw + bw));
      const angle = 2 * Math.atan2(Math.sqrt(chordSquared), sum);
      const sine = Math.sin(angle);
      atA = Math.sin((1 - t) * angle) / sine;
      atB = Math.sin(t * angle) / sine;
    }
    const x = atA * ax + atB * bx;
    const y = atA * ay + atB * by;
    const z = atA * az + atB * bz;
    const w = atA * aw + atB * bw;
    // One Newton step towards norm 1, from which only rounding strays; samples keep every bit.
    const scale = t > 0 && t < 1 ? 1.5 - 0.5 * squaredNorm(x, y, z, w) : 1;
    out[o] = x * scale;
    out[o + 1] = y * scale;
    out[o + 2] = z * scale;
    out[o + 3] = w * scale;
  }
  return out;
}

function notATime(time: number, m: number): TwinkeelError {
  return new TwinkeelError('argument/invalid', {
    found: `the time ${time} at position ${m}`,
    expected: 'seconds from the first sample',
    remedy: 'leave out times that are not numbers',
  });
}

function squaredNorm(x: number, y: number, z: number, w: number): number {
  return x * x + y * y + (z * z + w * w);
}

/**
 * sin(tθ)/sin θ by powers of c = cos θ − 1: the product of t with the nested factors
 * 1 + c (t² − i²)/(i (2i + 1)) · (…), i = 1 … 5.
 *
 * @see Eberly, "A fast and accurate algorithm for computing SLERP", Journal of Graphics, GPU, and
 *   Game Tools 15(3), 2011 (from memory)
 */
function slerpWeight(t: number, c: number): number {
  const s = t * t;
  let sum = 1 + c * (s - 25) * (1 / 55);
  sum = 1 + c * (s - 16) * (1 / 36) * sum;
  sum = 1 + c * (s - 9) * (1 / 21) * sum;
  sum = 1 + c * (s - 4) * (1 / 10) * sum;
  return t * (1 + c * (s - 1) * (1 / 3) * sum);
}

/** Puts the curve in place of the slerp on stretches with a neighbour on either side and no gap. */
function curveInside(track: OrientationTrack, times: Float64Array, out: Float64Array): void {
  const { times: own, quaternions } = track;
  const last = own.length - 1;
  const rough = new Set(timeGaps(own).flatMap(({ after }) => [after - 1, after, after + 1]));
  let k = 0;
  for (let m = 0; m < times.length; m++) {
    while (k < last - 1 && own[k + 1]! <= times[m]!) k++;
    const t = (times[m]! - own[k]!) / (own[k + 1]! - own[k]!);
    if (k === 0 || k + 2 > last || rough.has(k) || t <= 0 || t >= 1) continue;
    const a = quaternionAt(quaternions, k);
    const b = quaternionAt(quaternions, k + 1);
    out.set(squad(a, b, ...controls(track, k), t), 4 * m);
  }
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
  /** One sample for each frame. */
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
 * @returns the track and its bridged frames; cost O(n)
 * @throws TwinkeelError `track/gap` when more than 2 s are without samples, `track/too-sparse` when
 *   half of the time has fewer than 10 a second, `track/too-long` beyond 2^24 frames
 * @example
 * resampleToFrames(track, { numerator: 24, denominator: 1 }).track.times.length; // 289
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
  if (!track.frames && !rate) return { track, bridged: new Int32Array(0) };
  // By the samples of the file: on the frames they would be as many as anyone could wish.
  requireDense(1 / intervalOfHalfTheTime(track.times));
  if (track.frames && (!rate || (track.frameRate && isSameRate(rate, track.frameRate)))) {
    return fillMissingFrames(track, track.frames);
  }
  if (!rate) return { track, bridged: new Int32Array(0) };
  const last = track.times[track.times.length - 1]!;
  // A last frame that rounding puts a hair behind the last sample still counts.
  const count = Math.floor(last * framesPerSecond(rate) + 1e-6) + 1;
  requireFewEnough(count);
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

/** Three days at 60 frames per second: more is a slip in a unit of time (our judgement). */
const MOST_FRAMES = 2 ** 24;

function requireFewEnough(count: number): void {
  if (count <= MOST_FRAMES) return;
  throw new TwinkeelError('track/too-long', {
    found: `${count} frames`,
    expected: `at most ${MOST_FRAMES} frames in one clip`,
    remedy: 'check the unit of time and the rate, or split the recording',
  });
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
  requireFewEnough(count);
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
