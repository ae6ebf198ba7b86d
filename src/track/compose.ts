import { TwinkeelError } from '../error.js';
import { composeQuaternions, invertQuaternions } from '../rotation/arrays.js';
import type { Quaternion } from '../rotation/quaternion.js';
import { type OrientationTrack, withQuaternions } from './orientationTrack.js';

/**
 * The track whose orientation at every sample is a b: `b` happens first. A single quaternion on
 * the left turns the world, on the right the camera axes.
 *
 * @param a - what happens last: a track or a unit quaternion x, y, z, w
 * @param b - what happens first: a track or a unit quaternion x, y, z, w
 * @returns the products at the times of the track; all else is that of `a`, or of the only track
 * @throws TwinkeelError `argument/shape` when two tracks differ in their times
 * @throws TwinkeelError `argument/shape` when two tracks differ in their times, `argument/invalid`
 *   for two single rotations
 * @example
 * const turnWorld = quaternionFromHeadingTiltRoll(Math.PI, 0, 0); // north becomes south
 * const turned = composeTracks(turnWorld, track);
 * angularDistances(turned.quaternions, track.quaternions)[99]; // 3.1416 rad
 */
export function composeTracks(
  a: OrientationTrack | Quaternion,
  b: OrientationTrack | Quaternion,
): OrientationTrack {
  const track = isTrack(a) ? a : isTrack(b) ? b : undefined;
  if (track === undefined) {
    throw new TwinkeelError('argument/invalid', {
      found: 'two single rotations',
      expected: 'at least one track',
      remedy: 'use multiplyQuaternions for single rotations',
    });
  }
  if (isTrack(a) && isTrack(b)) requireSameTimes(a, b);
  return withQuaternions(
    track,
    composeQuaternions(isTrack(a) ? a.quaternions : a, isTrack(b) ? b.quaternions : b),
  );
}

/**
 * The track of the opposite rotations: world→camera for a camera→world track.
 *
 * @example
 * const still = composeTracks(track, invertTrack(track));
 * quaternionAt(still.quaternions, 99); // [0, 0, 0, 1]
 */
export function invertTrack(track: OrientationTrack): OrientationTrack {
  return withQuaternions(track, invertQuaternions(track.quaternions));
}

function isTrack(value: OrientationTrack | Quaternion): value is OrientationTrack {
  return 'quaternions' in value;
}

function requireSameTimes(a: OrientationTrack, b: OrientationTrack): void {
  const same = a.times.length === b.times.length && a.times.every((time, k) => time === b.times[k]);
  if (!same) {
    throw new TwinkeelError('argument/shape', {
      found: `tracks of ${a.times.length} and ${b.times.length} samples at different times`,
      expected: 'tracks with the same times',
      remedy: 'interpolate one at the times of the other first',
    });
  }
}
