/** A track in words. */
import { DEGREES_PER_RADIAN } from '../math.js';
import { describeOrientation } from '../read/describe.js';
import { quaternionAt } from '../rotation/arrays.js';
import { formatFrameRate } from '../track/frameRate.js';
import type { OrientationTrack, UpSource } from '../track/orientationTrack.js';
import { medianInterval } from '../track/times.js';

/** How the vertical is known. */
export const UP_WORDS: Readonly<Record<UpSource, string>> = {
  gravity: 'measured by the accelerometer',
  stated: 'as the file states it',
  estimated: 'estimated from how the camera is carried',
  unknown: 'not known',
};

/** What was understood of a track: length, rate, vertical, and the first row. */
export function describeTrack(track: OrientationTrack): string[] {
  const n = track.times.length;
  const duration = track.times[n - 1]!;
  const rate = track.frameRate
    ? `${formatFrameRate(track.frameRate)} frames per second`
    : n > 1
      ? `${(1 / medianInterval(track.times)).toFixed(2)} samples per second`
      : 'of no rate';
  return [
    `${n} samples, ${duration.toFixed(2)} s, ${rate}`,
    `vertical: ${UP_WORDS[track.up]}${track.upDeviation === undefined ? '' : `, ± ${(track.upDeviation * DEGREES_PER_RADIAN).toFixed(1)}°`}`,
    `first row: the camera ${describeOrientation(quaternionAt(track.quaternions, 0))}`,
  ];
}
