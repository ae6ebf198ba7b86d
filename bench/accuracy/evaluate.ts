/**
 * Errors of a separation against the known truth of synthetic walks.
 */
import { levelPath } from '../../src/motion/horizon.js';
import { angularDistances } from '../../src/rotation/arrays.js';
import { createTrack, type OrientationTrack } from '../../src/track/orientationTrack.js';
import type { SyntheticWalk } from './walks.js';

/** Mean squared angle to the intended path, degrees², with the roll kept and levelled. */
export interface WalkError {
  readonly kept: number;
  readonly levelled: number;
  /** Of the first and last second, roll kept. */
  readonly ends: number;
}

export function trackOf(walk: SyntheticWalk): OrientationTrack {
  return createTrack({ times: walk.times, quaternions: walk.measured });
}

/** Errors of any path for a walk. */
export function errorsOf(walk: SyntheticWalk, path: Float64Array): WalkError {
  const kept = angularDistances(path, walk.intendedWithDrift);
  const levelled = angularDistances(levelPath(path, 1), walk.intended);
  const edge = Math.round(walk.frameRate);
  const ends = Float64Array.from([...kept.subarray(0, edge), ...kept.subarray(-edge)]);
  return { kept: meanSquare(kept), levelled: meanSquare(levelled), ends: meanSquare(ends) };
}

/** Root of the mean over clips of each clip's mean square: every clip weighs the same. */
export function pooled(squares: readonly number[]): number {
  return Math.sqrt(squares.reduce((sum, square) => sum + square, 0) / squares.length);
}

function meanSquare(angles: Float64Array): number {
  return (angles.reduce((sum, a) => sum + a * a, 0) / angles.length) * (180 / Math.PI) ** 2;
}
