import {
  composeQuaternions,
  invertQuaternions,
  rotateVectors,
  rotationVectorsFromQuaternions,
} from '../rotation/arrays.js';
import type { OrientationTrack } from './orientationTrack.js';

/**
 * Angular rate at every sample, by the rotation from the sample before to the sample after,
 * divided by the time between them (one-sided at the ends): exact for constant rates, second
 * order otherwise.
 *
 * @param track - any track, n ≥ 2
 * @param frame - `camera`: about the camera's own axes; `world`: about the world's
 * @returns rad/s, length 3n
 * @example
 * const frameRate = { numerator: 60, denominator: 1 };
 * const turn = integrateRate(frameTimes(frameRate, 2), Float64Array.of(0, 0.3, 0, 0, 0.3, 0));
 * const steady = createTrack({ times: frameTimes(frameRate, 2), quaternions: turn });
 * angularRate(steady, 'world'); // [0, 0.3, 0, 0, 0.3, 0] rad/s
 */
export function angularRate(track: OrientationTrack, frame: 'camera' | 'world'): Float64Array {
  const { times, quaternions } = track;
  const n = times.length;
  const before = new Float64Array(4 * n);
  const after = new Float64Array(4 * n);
  before.set(quaternions.subarray(0, 4 * (n - 1)), 4);
  before.set(quaternions.subarray(0, 4), 0);
  after.set(quaternions.subarray(4), 0);
  after.set(quaternions.subarray(4 * (n - 1)), 4 * (n - 1));
  // The axis of the step before→after is the same seen from `before`, the middle or `after`.
  const rates = rotationVectorsFromQuaternions(
    composeQuaternions(invertQuaternions(before), after),
  );
  for (let k = 0; k < n; k++) {
    const span = times[Math.min(k + 1, n - 1)]! - times[Math.max(k - 1, 0)]!;
    for (let axis = 0; axis < 3; axis++) rates[3 * k + axis]! /= span;
  }
  return frame === 'camera' ? rates : rotateVectors(before, rates);
}
