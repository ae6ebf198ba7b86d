import { TwinkeelError, type Warning } from '../error.js';
import { composeQuaternions } from '../rotation/arrays.js';
import { unitQuaternions } from '../rotation/unitQuaternions.js';
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
  if (areSame(times, corrections.times)) return corrections.quaternions;
  return interpolateTrack({ ...corrections, up: 'unknown', warnings: [] }, times, 'squad');
}

/**
 * The camera's own orientation when the track was measured on footage corrected before: C = C' K.
 * It lies on the original's frames and bears their numbers; with a retiming on those that the edit
 * shows. Without one the footage must show the whole original, frame for frame.
 *
 * @param earlier - K, and how the footage was cut after it
 * @param track - C', measured on the corrected footage
 * @returns C, camera→world, of the original footage
 * @throws TwinkeelError `track/too-short` when the edit shows fewer than two frames,
 *   `argument/invalid` when track and corrections are not as long and no retiming says why
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
  if (!retiming) return wholeOriginal(track, corrections);
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

/** The camera's orientation where the corrected footage shows the original from end to end. */
function wholeOriginal(track: OrientationTrack, corrections: Corrections): OrientationTrack {
  requireSameLength(track, corrections);
  const { times, frames, quaternions } = corrections;
  if (frames && !track.frames && isContiguous(frames)) {
    const seen = areSame(track.times, times)
      ? track.quaternions
      : interpolateTrack(track, times, 'squad');
    return {
      ...numbered(track, corrections, frames),
      times,
      quaternions: composeQuaternions(seen, quaternions),
    };
  }
  const applied = correctionsAt(corrections, track.times);
  const camera = withQuaternions(track, composeQuaternions(track.quaternions, applied));
  if (!frames || !track.frames) return camera;
  const shift = frames[0]! - track.frames[0]!;
  const warnings = [...track.warnings, ...renumbered(track.frames, frames)];
  return {
    ...numbered(
      camera,
      corrections,
      track.frames.map((frame) => frame + shift),
    ),
    warnings,
  };
}

/** A track under the original's numbers and rate. */
function numbered(
  track: OrientationTrack,
  { frameRate = track.frameRate }: Corrections,
  frames: Int32Array,
): OrientationTrack {
  return { ...track, frames, ...(frameRate && { frameRate }) };
}

const isContiguous = (frames: Int32Array) =>
  frames[frames.length - 1]! - frames[0]! === frames.length - 1;

function areSame(a: Float64Array, b: Float64Array): boolean {
  return a.length === b.length && a.every((time, k) => Math.abs(time - b[k]!) <= WRITTEN_TIME);
}

/** Numbers that disagree are not wrong, but somebody should know which of them were taken. */
function renumbered(own: Int32Array, original: Int32Array): Warning[] {
  if (own[0] === original[0]) return [];
  return [
    {
      code: 'earlier/renumbered',
      message: `the tracked footage numbers its frames ${span(own)}, the original ${span(original)}: its first frame was taken as the original's first, and the result is numbered as the original; if the footage was trimmed, say which frames it shows`,
    },
  ];
}

const span = (frames: Int32Array) => `${frames[0]} to ${frames[frames.length - 1]}`;

/** Footage that is shorter or longer than its corrections was cut, and nobody said where. */
function requireSameLength(track: OrientationTrack, { times, frames }: Corrections): void {
  const [own, original] = [track.times.length, times.length];
  const [lasts, covered] = [track.times[own - 1]!, times[original - 1]!];
  const counted = track.frames !== undefined && frames !== undefined;
  const count = (list: Int32Array) => list[list.length - 1]! - list[0]!;
  const interval = covered / Math.max(1, frames ? count(frames) : original - 1);
  const same = !counted || count(track.frames) === count(frames);
  if (same && Math.abs(lasts - covered) <= interval) return;
  const numbers = counted ? ` (${span(track.frames)}, corrections of ${span(frames)})` : '';
  throw new TwinkeelError('argument/invalid', {
    found: `tracked footage of ${own} samples in ${lasts.toFixed(2)} s after corrections of ${original} frames in ${covered.toFixed(2)} s${numbers}`,
    expected: 'footage that shows the corrected clip from its first frame to its last',
    remedy:
      'say which frames of the original it shows (--trim A..B) or how it was cut or ramped (--retime FILE; "retiming" in programs)',
  });
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
  const unit = unitQuaternions(quaternions);
  if ('quaternions' in unit) return;
  throw new TwinkeelError('track/not-unit', {
    frame: unit.wrong,
    found: `an earlier correction of norm ${unit.norm.toPrecision(6)}`,
    expected: `a unit quaternion (norm within ${UNIT_NORM} of 1)`,
    remedy: 'pass corrections as twinkeel made them',
  });
}
