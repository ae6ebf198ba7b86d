/**
 * Errors of a separation against the known truth of synthetic walks.
 */
import { splineFilter } from '../../src/motion/classicFilters.js';
import { levelPath } from '../../src/motion/horizon.js';
import { orientationsOfAngles } from '../../src/motion/pathCoordinates.js';
import { angularDistances } from '../../src/rotation/arrays.js';
import { createTrack, type OrientationTrack } from '../../src/track/orientationTrack.js';
import type { SyntheticWalk } from './walks.js';

/** Mean squared angle to the intended path, degrees², with the roll kept and levelled. */
export interface WalkError {
  readonly kept: number;
  readonly levelled: number;
  /** Of the first and last two seconds, roll kept. */
  readonly ends: number;
  /** Of what lies between them, roll kept. */
  readonly middle: number;
}

export function trackOf(walk: SyntheticWalk): OrientationTrack {
  return createTrack({ times: walk.times, quaternions: walk.measured });
}

/** Seconds of the shortest move by which what was meant is told from what was not. */
const SHORTEST_MOVE = 2;

/** What errors are measured against: with a level horizon, and with the roll drift left in; length 4n. */
export interface Target {
  readonly levelled: Float64Array;
  readonly kept: Float64Array;
}

const targets = new WeakMap<SyntheticWalk, Target>();

/**
 * What the operator meant to show. Somebody who looks about without a pause (roaming, roamrest) does so
 * up to several Hz; meant of it is what is slower than the shortest move: the third-order penalised
 * spline with a cut-off of half a Hz through heading and tilt. A gaze that comes to rest rests in it
 * as well. Every other kind moves in moves that stay, all of which are meant.
 */
export function targetOf(walk: SyntheticWalk): Target {
  const known = targets.get(walk);
  if (known) return known;
  const { truth, frameRate } = walk;
  const slow = (angles: Float64Array) => splineFilter(angles, frameRate, 1 / SHORTEST_MOVE);
  const target = truth.roaming
    ? targetAlong(slow(truth.heading), slow(truth.tilt), truth.rollDrift)
    : { levelled: walk.intended, kept: walk.intendedWithDrift };
  targets.set(walk, target);
  return target;
}

/** R = Ry(heading)·Rx(tilt), and with a drift that is a roll in the camera's own axes, Rz(roll) after it. */
function targetAlong(heading: Float64Array, tilt: Float64Array, drift: Float64Array): Target {
  const level = new Float64Array(heading.length);
  return {
    levelled: orientationsOfAngles({ heading, tilt, roll: level }),
    kept: orientationsOfAngles({ heading, tilt, roll: drift }),
  };
}

/** Errors of any path for a walk. */
export function errorsOf(walk: SyntheticWalk, path: Float64Array): WalkError {
  const target = targetOf(walk);
  const kept = angularDistances(path, target.kept);
  const levelled = angularDistances(levelPath(path, 1), target.levelled);
  const edge = Math.round(2 * walk.frameRate);
  const ends = Float64Array.from([...kept.subarray(0, edge), ...kept.subarray(-edge)]);
  return {
    kept: meanSquare(kept),
    levelled: meanSquare(levelled),
    ends: meanSquare(ends),
    middle: meanSquare(kept.subarray(edge, -edge)),
  };
}

/** Root of the mean over clips of each clip's mean square: every clip weighs the same. */
export function pooled(squares: readonly number[]): number {
  return Math.sqrt(squares.reduce((sum, square) => sum + square, 0) / squares.length);
}

function meanSquare(angles: Float64Array): number {
  return (angles.reduce((sum, a) => sum + a * a, 0) / angles.length) * (180 / Math.PI) ** 2;
}
