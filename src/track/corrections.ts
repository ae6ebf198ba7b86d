import { TwinkeelError } from '../error.js';
import { composeQuaternions } from '../rotation/arrays.js';
import { UNIT_NORM, WRITTEN_TIME } from '../tolerances.js';
import type { FrameRate } from './frameRate.js';
import { type OrientationTrack, withQuaternions } from './orientationTrack.js';
import { interpolateTrack } from './resample.js';
import { type Retiming, trackOnOriginal } from './retiming.js';
import { checkTimes } from './times.js';

/** Corrective rotations K over time: each takes a direction seen by the camera to the view. */
export interface Corrections {
  /** Seconds from the first frame; length n. */
  readonly times: Float64Array;
  /** Unit quaternions x, y, z, w, sign-continuous; length 4n. */
  readonly quaternions: Float64Array;
  /** Frame number of each rotation; counted from 0 when left out. */
  readonly frames?: Int32Array;
  /** Exact frame rate, where known. */
  readonly frameRate?: FrameRate;
}

/** Corrections that were already applied to footage, and how it was cut afterwards. */
export interface EarlierCorrections extends Corrections {
  /** How the corrected footage was trimmed or ramped before it was tracked; left out: not at all. */
  readonly retiming?: Retiming;
}

/**
 * Corrections at other times: the stored ones where the times agree, else interpolated.
 *
 * @param corrections - K over time
 * @param times - seconds from the first frame, increasing; length m
 * @returns unit quaternions x, y, z, w, length 4m; held before the first and after the last frame
 * @example
 * correctionsAt(result.corrections, Float64Array.of(0.5, 0.51)).length; // 8
 */
export function correctionsAt(corrections: Corrections, times: Float64Array): Float64Array {
  const same =
    times.length === corrections.times.length &&
    times.every((time, k) => Math.abs(time - corrections.times[k]!) <= WRITTEN_TIME);
  if (same) return corrections.quaternions;
  return interpolateTrack({ ...corrections, up: 'unknown', warnings: [] }, times, 'squad');
}

/**
 * The camera's own orientation when the track was measured on footage corrected before: C = C' K.
 * With a retiming it lies on the original's frames, those that the edit shows.
 *
 * @param earlier - K, and how the footage was cut after it
 * @param track - C', measured on the corrected footage
 * @returns C, camera→world, of the original footage
 * @throws TwinkeelError `track/too-short` when the edit shows fewer than two frames,
 *   `argument/shape`, `track/not-finite`, `track/not-unit` for corrections that are none
 * @example
 * // A tracker on steadied footage sees the intended path; with K the camera comes back.
 * const original = trackBeforeCorrections(result.intended, result.corrections);
 * angularDistances(original.quaternions, track.quaternions)[99]; // 0 rad
 */
export function trackBeforeCorrections(
  track: OrientationTrack,
  { retiming, ...corrections }: EarlierCorrections,
): OrientationTrack {
  requireCorrections(corrections);
  if (!retiming) {
    const applied = correctionsAt(corrections, track.times);
    return withQuaternions(track, composeQuaternions(track.quaternions, applied));
  }
  const { times, frames: numbers, frameRate, quaternions } = corrections;
  const { track: shown, first } = trackOnOriginal(track, retiming, {
    times,
    ...(numbers && { numbers }),
  });
  const applied = quaternions.slice(4 * first, 4 * (first + shown.times.length));
  return {
    ...withQuaternions(shown, composeQuaternions(shown.quaternions, applied)),
    ...(frameRate && { frameRate }),
  };
}

/** Refuses corrections that a program made and that are no rotations over time. */
function requireCorrections({ times, quaternions }: Corrections): void {
  const n = times.length;
  if (n === 0 || quaternions.length !== 4 * n) {
    throw new TwinkeelError('argument/shape', {
      found: `${n} times and ${quaternions.length} quaternion components of earlier corrections`,
      expected: 'four components for each time, one rotation at least',
      remedy: 'pass arrays of matching length',
    });
  }
  checkTimes(times, (frame) => ({ frame }));
  for (let k = 0; k < n; k++) {
    const norm = Math.hypot(...quaternions.subarray(4 * k, 4 * k + 4));
    if (Math.abs(norm - 1) <= UNIT_NORM) continue;
    throw new TwinkeelError('track/not-unit', {
      frame: k,
      found: `an earlier correction of norm ${norm.toPrecision(6)}`,
      expected: `a unit quaternion (norm within ${UNIT_NORM} of 1)`,
      remedy: 'pass corrections as twinkeel made them',
    });
  }
}
