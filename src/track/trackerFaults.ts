import { median } from '../numeric/quantile.js';
import {
  alignSigns,
  composeQuaternions,
  quaternionAt,
  rotationVectorsFromQuaternions,
} from '../rotation/arrays.js';
import { invertQuaternion, multiplyQuaternions, type Vector3 } from '../rotation/quaternion.js';
import {
  quaternionFromRotationVector,
  rotationVectorFromQuaternion,
} from '../rotation/rotationVector.js';
import { type OrientationTrack, withQuaternions } from './orientationTrack.js';
import { interpolateTrack } from './resample.js';

/** How a tracker can stumble. */
export type FaultKind =
  /** Frames that leap away from the motion around them and back: wild values, flips, zeros. */
  | 'wild'
  /** The same orientation again and again while the camera moved before and after. */
  | 'frozen'
  /** The whole world turned from one frame to the next, as after a lost frame. */
  | 'jump';

/** A stretch in which the tracker, not the operator, is at fault. */
export interface TrackerFault {
  /** How it stumbled. */
  readonly kind: FaultKind;
  /** First faulty sample; for a jump the first after it. */
  readonly from: number;
  /** Last faulty sample. */
  readonly to: number;
  /** Seconds of the first faulty sample. */
  readonly fromSeconds: number;
  /** Seconds of the last. */
  readonly toSeconds: number;
  /** Number of the first faulty frame, where the track has numbers. */
  readonly fromFrame?: number;
  /** Number of the last. */
  readonly toFrame?: number;
  /** False where the stretch is too long for its neighbours to say what happened in it: it was left. */
  readonly mended: boolean;
}

/**
 * Thresholds, our judgement. A camera in hands changes its rate by a few times the usual change from
 * one frame to the next; a leap is more than ten times that, and more than a degree.
 */
const LEAP = { timesUsual: 10, least: Math.PI / 180 };
/** Samples on each side whose steps tell how a step should be, and over which "usual" is taken. */
const NEIGHBOURS = 3;
const USUAL_OVER = 60;
/** Neighbours say what happened in between for this long, s. */
const LONGEST_MENDED = 1;
/** A freeze: at least so many steps, each below this share of the steps around, which lead this far, rad. */
const FREEZE = { steps: 5, share: 0.02, way: 0.5 * (Math.PI / 180) };
/** Samples outside a stretch whose median step says how the camera moved before and after it. */
const OUTER = 6;
/**
 * Where a stretch is left and entered again: the camera must have come where its steps before and after
 * lead, give or take a degree and half of the way that these two would lead apart.
 */
const AGREEMENT = { angle: Math.PI / 180, share: 0.5 };
/** A world that turns does so by this much, rad, and by many times what the steps around vary. */
const JUMP = { least: 2 * (Math.PI / 180), timesAround: 8 };

/** A track without its tracker's faults, and what they were. */
export interface MendedTrack {
  /** At the same times. */
  readonly track: OrientationTrack;
  /** In the order of time. */
  readonly faults: readonly TrackerFault[];
}

/**
 * Finds where a tracker stumbled and mends it from the motion on either side: wild and frozen
 * samples are interpolated, and what follows a jump of the world is turned back so that the motion
 * goes on. A stumble of the operator is no fault: however hard, it takes several frames.
 *
 * @param track - camera→world
 * @returns the track with its faulty samples replaced, times as before; the same object when nothing
 *   was found. Cost O(n)
 * @example
 * mendTracker(track).faults.length; // 0
 */
export function mendTracker(track: OrientationTrack): MendedTrack {
  const n = track.times.length;
  if (n < 4 * NEIGHBOURS) return { track, faults: [] };
  const quaternions = track.quaternions.slice();
  const faulty = new Uint8Array(n);
  const found: Omit<TrackerFault, 'fromSeconds' | 'toSeconds'>[] = [];
  const longest = Math.round((LONGEST_MENDED * (n - 1)) / track.times[n - 1]!);
  const steps = stepsOf(quaternions);

  const leapt = leapsOf(lengths(subtract(steps, expectedSteps(steps))));
  const frozenSteps = new Uint8Array(n - 1);
  for (const { from, to } of frozenRuns(steps)) {
    // Entered by a leap it is a wild value that was written many times.
    if (leapt[from - 1] === 1) continue;
    frozenSteps.fill(1, from, to + 1);
    const mended = to - from <= longest;
    if (mended) faulty.fill(1, from + 1, to + 1);
    found.push({ kind: 'frozen', from: from + 1, to, mended });
  }
  const leaps = Array.from(leapt.keys()).filter((k) => leapt[k] === 1 && frozenSteps[k] === 0);
  for (let i = 0; i < leaps.length; ) {
    const first = leaps[i]!;
    const last = returnOf(leaps, i, quaternions, steps, longest);
    if (last !== undefined) {
      faulty.fill(1, first + 1, leaps[last]! + 1);
      found.push({ kind: 'wild', from: first + 1, to: leaps[last]!, mended: true });
      i = last + 1;
      continue;
    }
    i++;
    const after = leaps[i] ?? n;
    const expected = meanStep(steps, first - OUTER, first, first + 1, first + 1 + OUTER);
    if (after - first <= OUTER || !isJump(steps, first, expected)) continue;
    turnBack(quaternions, first, expected);
    found.push({ kind: 'jump', from: first + 1, to: first + 1, mended: true });
  }
  if (found.length === 0) return { track, faults: [] };
  return {
    track: withQuaternions(track, bridged(track, quaternions, faulty)),
    faults: found
      .sort((a, b) => a.from - b.from)
      .map((fault) => ({
        ...fault,
        fromSeconds: track.times[fault.from]!,
        toSeconds: track.times[fault.to]!,
        ...(track.frames && {
          fromFrame: track.frames[fault.from]!,
          toFrame: track.frames[fault.to]!,
        }),
      })),
  };
}

/** Rotation vectors from each sample to the next in the camera's axes, length 3(n − 1). */
function stepsOf(quaternions: Float64Array): Float64Array {
  const inverse = quaternions.slice(0, -4);
  for (let i = 0; i < inverse.length; i++) if (i % 4 !== 3) inverse[i]! *= -1;
  return rotationVectorsFromQuaternions(composeQuaternions(inverse, quaternions.subarray(4)));
}

function lengths(vectors: Float64Array): Float64Array {
  return Float64Array.from({ length: vectors.length / 3 }, (_, k) =>
    Math.hypot(vectors[3 * k]!, vectors[3 * k + 1]!, vectors[3 * k + 2]!),
  );
}

function subtract(a: Float64Array, b: Float64Array): Float64Array {
  return a.map((value, i) => value - b[i]!);
}

/** Runs of steps [from, to) that are nothing beside the steps around them. */
function frozenRuns(steps: Float64Array): { from: number; to: number }[] {
  const size = lengths(steps);
  const runs: { from: number; to: number }[] = [];
  for (let from = 0; from < size.length; ) {
    let to = from;
    while (to < size.length && size[to]! < 1e-4) to++;
    if (to - from >= FREEZE.steps && to < size.length && from > 0) {
      // The step that ends a freeze catches up with the camera and tells nothing of its speed.
      const around = Math.min(usual(size, from - 10, from), usual(size, to + 1, to + 11));
      const longest = size.subarray(from, to).reduce((most, value) => Math.max(most, value), 0);
      if (longest < FREEZE.share * around && around * (to - from) > FREEZE.way) {
        runs.push({ from, to });
      }
    }
    from = Math.max(to, from + 1);
  }
  return runs;
}

function usual(values: Float64Array, from: number, to: number): number {
  const part = values.subarray(Math.max(0, from), Math.min(values.length, to));
  return part.length === 0 ? 0 : median(part);
}

/** What each step should be: the median of its neighbours' on either side, part by part. */
function expectedSteps(steps: Float64Array): Float64Array {
  const n = steps.length / 3;
  const out = new Float64Array(steps.length);
  const near = new Float64Array(2 * NEIGHBOURS);
  for (let k = 0; k < n; k++) {
    for (let axis = 0; axis < 3; axis++) {
      let count = 0;
      for (let j = Math.max(0, k - NEIGHBOURS); j <= Math.min(n - 1, k + NEIGHBOURS); j++) {
        if (j !== k) near[count++] = steps[3 * j + axis]!;
      }
      out[3 * k + axis] = median(near.subarray(0, count));
    }
  }
  return out;
}

/** 1 at steps that leap: far beyond what is usual around them. */
function leapsOf(excess: Float64Array): Uint8Array {
  const leaps = new Uint8Array(excess.length);
  for (let start = 0; start < excess.length; start += USUAL_OVER) {
    const most = Math.max(
      LEAP.least,
      LEAP.timesUsual * usual(excess, start - USUAL_OVER, start + 2 * USUAL_OVER),
    );
    const end = Math.min(excess.length, start + USUAL_OVER);
    for (let k = start; k < end; k++) leaps[k] = Number(excess[k]! > most);
  }
  return leaps;
}

/** Mean of the median steps of two ranges [from, to), part by part. */
function meanStep(
  steps: Float64Array,
  from: number,
  to: number,
  otherFrom: number,
  otherTo: number,
): Vector3 {
  const [a, b] = [medianStep(steps, from, to), medianStep(steps, otherFrom, otherTo)];
  return [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2, (a[2] + b[2]) / 2];
}

function medianStep(steps: Float64Array, from: number, to: number): Vector3 {
  const first = Math.max(0, from);
  const end = Math.min(steps.length / 3, to);
  if (end <= first) return [0, 0, 0];
  const part = (axis: number) =>
    median(Array.from({ length: end - first }, (_, k) => steps[3 * (first + k) + axis]!));
  return [part(0), part(1), part(2)];
}

/**
 * Which of the following leaps leads back to the motion that the i-th one left, if any: over the
 * stretch the camera must have come where its steps before and after lead.
 */
function returnOf(
  leaps: readonly number[],
  i: number,
  quaternions: Float64Array,
  steps: Float64Array,
  longest: number,
): number | undefined {
  const first = leaps[i]!;
  let away = 0;
  let reached = first;
  for (let j = i + 1; j < leaps.length && leaps[j]! - first <= longest; j++) {
    const back = leaps[j]!;
    while (reached < back) away = Math.max(away, lengthOf(turnOver(quaternions, first, ++reached)));
    const count = back + 1 - first;
    const before = medianStep(steps, first - OUTER, first);
    const after = medianStep(steps, back + 1, back + 1 + OUTER);
    const turn = turnOver(quaternions, first, back + 1);
    const off = turn.map((value, axis) => value - (count * (before[axis]! + after[axis]!)) / 2);
    const apart = count * Math.hypot(...before.map((value, axis) => value - after[axis]!));
    const allowed = AGREEMENT.angle + AGREEMENT.share * apart;
    if (Math.hypot(...off) < Math.min(allowed, away / 2)) return j;
  }
  return undefined;
}

/** Rotation vector from one sample to another. */
function turnOver(quaternions: Float64Array, from: number, to: number): Vector3 {
  return rotationVectorFromQuaternion(
    multiplyQuaternions(
      invertQuaternion(quaternionAt(quaternions, from)),
      quaternionAt(quaternions, to),
    ),
  );
}

function lengthOf(vector: Vector3): number {
  return Math.hypot(...vector);
}

/** Whether a leap without return stands alone among even steps. */
function isJump(steps: Float64Array, leap: number, expected: Vector3): boolean {
  const off = (k: number) =>
    Math.hypot(...expected.map((value, axis) => steps[3 * k + axis]! - value));
  const around: number[] = [];
  for (let k = Math.max(0, leap - OUTER); k <= leap + OUTER && 3 * k < steps.length; k++) {
    if (k !== leap) around.push(off(k));
  }
  const size = off(leap);
  return size > JUMP.least && size > JUMP.timesAround * Math.max(...around);
}

/** Turns the world after a jump so that the step over it is the expected one. */
function turnBack(quaternions: Float64Array, leap: number, expected: Vector3): void {
  const wanted = multiplyQuaternions(
    quaternionAt(quaternions, leap),
    quaternionFromRotationVector(expected),
  );
  const turn = multiplyQuaternions(wanted, invertQuaternion(quaternionAt(quaternions, leap + 1)));
  quaternions.set(composeQuaternions(turn, quaternions.subarray(4 * (leap + 1))), 4 * (leap + 1));
}

/** The track's orientations with faulty samples interpolated between good ones, the ends held. */
function bridged(
  track: OrientationTrack,
  quaternions: Float64Array,
  faulty: Uint8Array,
): Float64Array {
  const good = Array.from(faulty.keys()).filter((k) => faulty[k] === 0);
  const kept = {
    ...track,
    times: Float64Array.from(good, (k) => track.times[k]!),
    quaternions: alignSigns(
      Float64Array.from(good.flatMap((k) => [...quaternionAt(quaternions, k)])),
    ),
  };
  const inside = Float64Array.from(track.times, (time) =>
    Math.min(Math.max(time, kept.times[0]!), kept.times[kept.times.length - 1]!),
  );
  const all = interpolateTrack(kept, inside, 'squad');
  // What was good stays as it was, to the last bit.
  good.forEach((k) => {
    all.set(quaternionAt(quaternions, k), 4 * k);
  });
  return alignSigns(all);
}
