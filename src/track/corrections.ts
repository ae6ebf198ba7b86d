import type { FrameRate } from './frameRate.js';
import { interpolateTrack } from './resample.js';

/** Corrective rotations K over time: each takes a direction seen by the camera to the view. */
export interface Corrections {
  /** Seconds from the first frame; length n. */
  readonly times: Float64Array;
  /** Unit quaternions x, y, z, w, sign-continuous; length 4n. */
  readonly quaternions: Float64Array;
  readonly frames?: Int32Array;
  readonly frameRate?: FrameRate;
}

/** Corrections at other times: the stored ones where the times agree, else interpolated. */
export function correctionsAt(corrections: Corrections, times: Float64Array): Float64Array {
  const same =
    times.length === corrections.times.length &&
    times.every((time, k) => time === corrections.times[k]);
  if (same) return corrections.quaternions;
  return interpolateTrack({ ...corrections, up: 'unknown', warnings: [] }, times, 'squad');
}
