import { TwinkeelError } from '../error.js';
import type { OrientationTrack } from './orientationTrack.js';
import { interpolateTrack } from './resample.js';

/**
 * Which moment of the original each moment of an edit shows: corresponding times, straight lines
 * between them. A trim is two pairs one second of edit to one of original apart; a speed ramp is as
 * many pairs as its curve needs.
 */
export interface Retiming {
  /** Seconds from the first frame of the edit, strictly increasing; length m ≥ 2. */
  readonly edit: Float64Array;
  /** Seconds from the first frame of the original, strictly increasing; length m. */
  readonly original: Float64Array;
}

/**
 * A checked retiming.
 *
 * @param pairs - [seconds in the edit, seconds in the original shown then]
 * @returns the pairs as two lists
 * @throws TwinkeelError `argument/invalid` when a time is not finite or one of them stands still
 *   or runs backwards: a frame shown twice has no single correction
 * @example
 * const halfSpeed = createRetiming([[0, 2], [4, 4]]); // seconds 2 to 4 take four seconds
 * halfSpeed.original; // [2, 4] s
 */
export function createRetiming(pairs: readonly (readonly [number, number])[]): Retiming {
  if (pairs.length < 2) throw invalid(`${pairs.length} pair${pairs.length === 1 ? '' : 's'}`);
  pairs.forEach(([edit, original], k) => {
    const [editBefore, originalBefore] = pairs[k - 1] ?? [-Infinity, -Infinity];
    if (!(Number.isFinite(edit) && Number.isFinite(original))) {
      throw invalid(`the pair ${edit}, ${original}`);
    }
    if (!(edit > editBefore && original > originalBefore)) {
      throw invalid(`${edit}, ${original} after ${editBefore}, ${originalBefore}`);
    }
  });
  return {
    edit: Float64Array.from(pairs, ([edit]) => edit),
    original: Float64Array.from(pairs, ([, original]) => original),
  };
}

/**
 * The edit that shows the original from one moment to another at its own speed, seconds.
 *
 * @param from - second of the original that the edit begins with
 * @param to - second of the original that the edit ends with
 * @throws TwinkeelError `argument/invalid` when `to` is not after `from`
 * @example
 * trimmed(2, 5); // { edit: [0, 3], original: [2, 5] } s
 */
export function trimmed(from: number, to: number): Retiming {
  return createRetiming([
    [0, from],
    [to - from, to],
  ]);
}

/**
 * Moments of the original that moments of the edit show, seconds; the ends go on straight.
 *
 * @param times - seconds in the edit; cost O(n + m) where they increase
 * @returns seconds in the original, length as `times`
 * @example
 * originalTimes(trimmed(2, 5), Float64Array.of(0, 1)); // [2, 3] s
 */
export function originalTimes({ edit, original }: Retiming, times: Float64Array): Float64Array {
  return mapTimes(edit, original, times);
}

/**
 * Moments of the edit at which moments of the original are shown, seconds.
 *
 * @param times - seconds in the original; cost O(n + m) where they increase
 * @returns seconds in the edit, length as `times`; below 0 before the edit begins
 * @example
 * editTimes(trimmed(2, 5), Float64Array.of(1, 3)); // [-1, 1] s
 */
export function editTimes({ edit, original }: Retiming, times: Float64Array): Float64Array {
  return mapTimes(original, edit, times);
}

/** Straight lines through (from, to); increasing times take O(n + m). */
function mapTimes(from: Float64Array, to: Float64Array, times: Float64Array): Float64Array {
  let k = 0;
  return times.map((time) => {
    if (time < from[k]!) k = 0;
    while (k < from.length - 2 && from[k + 1]! <= time) k++;
    const share = (time - from[k]!) / (from[k + 1]! - from[k]!);
    return to[k]! + share * (to[k + 1]! - to[k]!);
  });
}

/**
 * A track of the edit as a track of the original, on those frames of the original that the edit
 * shows.
 *
 * @param track - measured on the edited footage
 * @param frames - times of the original's frames, seconds from its first, and their numbers
 * @returns the shown frames only, time from the first of them; `first` is its index
 * @throws TwinkeelError `track/too-short` when fewer than two frames of the original are shown
 */
export function trackOnOriginal(
  track: OrientationTrack,
  retiming: Retiming,
  { times, numbers }: { readonly times: Float64Array; readonly numbers?: Int32Array },
): { readonly track: OrientationTrack; readonly first: number } {
  const shown = editTimes(retiming, times);
  const last = track.times[track.times.length - 1]!;
  // Half a thousandth of a frame: a trim written in decimals must not lose the frame it names.
  const slack = (0.0005 * last) / (track.times.length - 1);
  const first = shown.findIndex((time) => time >= -slack);
  const end = shown.findIndex((time) => time > last + slack);
  const [from, to] = [first < 0 ? shown.length : first, end < 0 ? shown.length : end];
  if (to - from < 2) {
    throw new TwinkeelError('track/too-short', {
      found: `${Math.max(0, to - from)} frames of the original within the retimed track`,
      expected: 'at least two',
      remedy: 'check the retiming: seconds in the edit, then seconds in the original',
    });
  }
  const stated = retiming.edit[retiming.edit.length - 1]!;
  const longer = last > stated + last / (track.times.length - 1);
  const { frames: _editFrames, frameRate: _editRate, startNs: _editStart, ...rest } = track;
  return {
    first: from,
    track: {
      ...rest,
      times: times.slice(from, to).map((time) => time - times[from]!),
      quaternions: interpolateTrack(track, shown.slice(from, to), 'squad'),
      ...(numbers && { frames: numbers.slice(from, to) }),
      warnings: longer
        ? [
            ...track.warnings,
            {
              code: 'retiming/longer',
              message: `the tracked footage lasts ${last.toFixed(2)} s, its cut or ramp was stated up to ${stated.toFixed(2)} s: the rest was taken to go on at the last speed`,
            },
          ]
        : track.warnings,
    },
  };
}

function invalid(found: string): TwinkeelError {
  return new TwinkeelError('argument/invalid', {
    found: `${found} in a retiming`,
    expected: 'two or more pairs of seconds, in the edit and in the original, both increasing',
    remedy: 'leave reversed and frozen stretches out of the footage that is tracked',
  });
}
