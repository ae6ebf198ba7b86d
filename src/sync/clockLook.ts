import { splineBasis, splineNormal } from '../numeric/splineBasis.js';
import {
  composeQuaternions,
  invertQuaternions,
  normalizeQuaternions,
  rotationVectorsFromQuaternions,
} from '../rotation/arrays.js';
import type { MotionLog } from '../track/motionLog.js';
import type { OrientationTrack } from '../track/orientationTrack.js';
import { lowerBound, medianInterval } from '../track/times.js';
import type { CleanTrack } from './cleanTrack.js';
import type { ClockCandidate } from './clockCandidates.js';
import type { ClockState } from './clockState.js';
import type { LogRows } from './loggedMotion.js';
import {
  type ClockProblem,
  type RefinedClock,
  type Refinement,
  refineClock,
  SLOW_KNOTS,
} from './refineClock.js';

/** A picture's track with what is known of it before any log is looked at. */
export interface Picture {
  readonly track: OrientationTrack;
  readonly clean: CleanTrack;
  /** How far each frame is from the slow part of the path alone, rad: what a log has to explain. */
  readonly moves: Float64Array;
}

/** Frames of the picture that a log covers, `first` to `end` − 1. */
export interface FrameRange {
  readonly first: number;
  readonly end: number;
}

/** A clock refined on some frames, and how well it explains them. */
export interface ClockLook {
  readonly candidate: ClockCandidate;
  readonly frames: FrameRange;
  readonly clock: RefinedClock;
  /** Rows of the log around the frames. */
  readonly rows: LogRows;
  /** Root mean square of the misses of trusted frames, their largest 5 % cut, rad. */
  readonly misfit: number;
  /** The same of what there was to explain. */
  readonly motion: number;
  /** Trusted frames. */
  readonly trusted: number;
}

/** Trust with which wild frames start, so that no stretch is without any. */
const LEAST_TRUST = 1e-6;
/** Seconds of the log that are kept around the frames: room for the offset to move. */
const ROOM = 1;
/** Rows a second that are kept: ten times the fastest motion of a hand. */
const DENSE = 400;

/** What a log has to explain of each frame. */
export function movesOf(track: OrientationTrack, weights: Float64Array): Float64Array {
  const { times, quaternions } = track;
  const spline = splineNormal(
    splineBasis(times, SLOW_KNOTS),
    weights.map((w) => w + 1e-6),
  );
  const slow = new Float64Array(quaternions.length);
  for (let i = 0; i < 4; i++)
    spline.evaluate(spline.solve(spline.moments(quaternions, 4, i)), slow, 4, i);
  const off = rotationVectorsFromQuaternions(
    composeQuaternions(invertQuaternions(normalizeQuaternions(slow)), quaternions),
  );
  return Float64Array.from({ length: times.length }, (_, k) =>
    Math.hypot(off[3 * k]!, off[3 * k + 1]!, off[3 * k + 2]!),
  );
}

/** The frames whose log time, at a given clock, lies within a stretch of the log. */
export function coveredFrames(
  times: Float64Array,
  logTime: (time: number) => number,
  { from, to }: { readonly from: number; readonly to: number },
): FrameRange {
  let first = 0;
  let end = times.length;
  while (first < end && logTime(times[first]!) < from) first++;
  while (end > first && logTime(times[end - 1]!) > to) end--;
  return { first, end };
}

/** The middle of a range, at most so many frames. */
export function middleOf({ first, end }: FrameRange, most: number): FrameRange {
  const spare = Math.max(0, end - first - most);
  return { first: first + (spare >> 1), end: end - spare + (spare >> 1) };
}

/** The rows of a stretch around frames at a lag; denser ones than needed are joined. */
export function rowsAround(
  log: MotionLog,
  { first, last }: { readonly first: number; readonly last: number },
  from: number,
  to: number,
): LogRows {
  const begin = Math.max(first, lowerBound(log.times, from - ROOM) - 1);
  const end = Math.min(last, lowerBound(log.times, to + ROOM)) + 1;
  const times = log.times.subarray(begin, end);
  const rate = log.rate.subarray(3 * begin, 3 * end);
  const rows = times.length;
  const join = Math.floor((rows - 1) / (times[rows - 1]! - times[0]!) / DENSE) + 1;
  const interval = medianInterval(times);
  if (join === 1) return { times, rate, interval };
  return {
    times: meansOf(times, 1, join),
    interval: interval * join,
    rate: meansOf(rate, 3, join),
  };
}

/** Means of so many rows each, component by component; what is left at the end is left out. */
function meansOf(values: Float64Array, stride: number, join: number): Float64Array {
  const count = Math.floor(values.length / stride / join);
  const out = new Float64Array(stride * count);
  for (let k = 0, o = 0; k < count; k++) {
    for (let axis = 0; axis < stride; axis++, o++) {
      let sum = 0;
      for (let j = 0; j < join; j++) sum += values[stride * (join * k + j) + axis]!;
      out[o] = sum / join;
    }
  }
  return out;
}

/** Refines a clock on some frames of the picture. */
export function lookAt(
  candidate: ClockCandidate,
  log: MotionLog,
  picture: Picture,
  frames: FrameRange,
  start: ClockState,
  refinement: Refinement,
): ClockLook {
  const { track, clean, moves } = picture;
  const { first, end } = frames;
  const times = track.times.subarray(first, end);
  // Where a tracker lost all frames, none is trusted, and the log has to tell which to.
  const weights = clean.weights.subarray(first, end);
  const floored = weights.map((weight) => Math.max(weight, LEAST_TRUST));
  const problem: ClockProblem = {
    times,
    quaternions: track.quaternions.subarray(4 * first, 4 * end),
    rows: rowsAround(
      log,
      candidate.stretch,
      times[0]! + start.offset,
      times[times.length - 1]! + start.offset,
    ),
  };
  const clock = refineClock(problem, start, floored, refinement);
  return {
    candidate,
    frames,
    clock,
    rows: problem.rows,
    misfit: trimmedRms(clock.misses, weights),
    motion: trimmedRms(moves.subarray(first, end), weights),
    trusted: weights.reduce((sum, weight) => sum + (weight > 0 ? 1 : 0), 0),
  };
}

/** Root mean square over frames that are trusted at all, the largest 5 % counted as the next below. */
export function trimmedRms(misses: Float64Array, weights: Float64Array): number {
  const values = misses.filter((_, k) => weights[k]! > 0).sort();
  const cap = values[Math.floor(0.95 * (values.length - 1))] ?? 0;
  let sum = 0;
  for (const value of values) sum += Math.min(value, cap) ** 2;
  return Math.sqrt(sum / Math.max(values.length, 1));
}
