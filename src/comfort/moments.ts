import { DEGREES_PER_RADIAN } from '../math.js';
import {
  butterworthHighPass,
  butterworthLowPass,
  filterForwardBackward,
} from '../numeric/filterDesign.js';
import { runningMean } from '../numeric/runningMean.js';
import { worstDisparities } from '../rig/stereoCost.js';
import { DEFAULT_RIG, type StereoRig } from '../rig/stereoRig.js';
import {
  composeQuaternions,
  headingTiltRollFromQuaternions,
  invertQuaternions,
  rotateVectors,
  rotationVectorsFromQuaternions,
} from '../rotation/arrays.js';
import { angularRate } from '../track/angularRate.js';
import type { OrientationTrack } from '../track/orientationTrack.js';
import type { TrackerFault } from '../track/trackerFaults.js';
import { type Criterion, MOMENT_CRITERIA } from './criteria.js';

/** One figure at every frame, averaged over about a second: what a viewer perceives as a moment. */
export interface MomentaryFigure extends Criterion {
  /** Length n. */
  readonly values: Float64Array;
}

/** How long a figure lies above its thresholds. */
export interface TimeAbove {
  /** What was judged, in words. */
  readonly figure: string;
  /** Of `worst`, `care` and `bad`. */
  readonly unit: string;
  /** The largest of all moments. */
  readonly worst: number;
  /** Above it a moment is to be used with care. */
  readonly care: number;
  /** Above it a moment is not usable. */
  readonly bad: number;
  /** Share of the time above `care`, 0 to 1. */
  readonly shareAboveCare: number;
  /** Share of the time above `bad`, 0 to 1. */
  readonly shareAboveBad: number;
}

/** Whether somebody walks, and at how many steps per second. */
interface Pace {
  readonly walking: boolean;
  readonly stepFrequency: number;
}

/** Half the time over which a moment is averaged, s (our judgement: a second is a moment). */
const HALF_MOMENT = 0.5;
/** Bands of the rate, Hz: steps and strides; hands and gimbal. */
const STEPS = [0.5, 3] as const;
const TREMOR = [3, 12] as const;

/**
 * The figures of the corrected view at every frame. Without a rig, what the correction would cost a
 * common one stands in for what the lenses and the eyes bear, so that leaving the rig out does not
 * make a take better.
 *
 * @param measured - C of the upright picture
 * @param intended - S
 * @param faults - of the tracker, in seconds of the same times
 * @param gait - whose steps make the bob
 */
export function momentaryFigures(
  measured: OrientationTrack,
  intended: OrientationTrack,
  faults: readonly TrackerFault[],
  gait: Pace,
  rig: StereoRig | undefined,
): MomentaryFigure[] {
  const n = intended.times.length;
  const sampleRate = (n - 1) / intended.times[n - 1]!;
  const reach = Math.max(1, Math.round(HALF_MOMENT * sampleRate));
  const averaged = (values: Float64Array) => runningMean(values, reach);
  const rates = angularRate(intended, 'camera').map((rate) => rate * DEGREES_PER_RADIAN);
  const axes = [0, 1, 2].map((axis) =>
    Float64Array.from({ length: n }, (_, k) => rates[3 * k + axis]!),
  );
  const within = ([from, to]: readonly [number, number]) => {
    const squares = lengths(axes.map((axis) => bandOf(axis, sampleRate, from, to))).map(
      (value) => value * value,
    );
    return averaged(squares).map((mean) => Math.sqrt(Math.max(0, mean)));
  };
  const inView = composeQuaternions(invertQuaternions(intended.quaternions), measured.quaternions);
  const { interaxialMm, nearestSubjectM } = rig ?? DEFAULT_RIG;
  const disparity = averaged(worstDisparities(inView, interaxialMm, nearestSubjectM));
  const of = (name: keyof typeof MOMENT_CRITERIA, values: Float64Array): MomentaryFigure => ({
    ...MOMENT_CRITERIA[name],
    values,
  });
  return [
    of('tracker', stumbles(faults, intended.times)),
    of('turning', averaged(lengths(axes))),
    of('steps', besideMoves(within(STEPS), rates, reach)),
    ...(gait.walking ? [of('bob', bobOf(intended, gait.stepFrequency, sampleRate))] : []),
    of('tremor', within(TREMOR)),
    of('jolt', joltsOf(measured, sampleRate)),
    of('horizon', averaged(horizonOffLevel(intended.quaternions))),
    ...(rig
      ? [of('disparity', disparity)]
      : [of('assumedDisparity', disparity), of('assumedSwing', averaged(swingsOfAxis(inView)))]),
  ];
}

/** How long each figure lies above its thresholds. */
export function timesAbove(figures: readonly MomentaryFigure[]): TimeAbove[] {
  return figures.map(({ figure, unit, care, bad, values }) => {
    const shareAbove = (limit: number) =>
      values.reduce((count, value) => count + Number(value > limit), 0) / values.length;
    return {
      ...{ figure, unit, care, bad },
      worst: values.reduce((most, value) => Math.max(most, value), 0),
      shareAboveCare: shareAbove(care),
      shareAboveBad: shareAbove(bad),
    };
  });
}

/** Steps of a walk come within this share of their mean frequency. */
const PACE_SHARE = 0.2;
/**
 * What the narrow band leaves of an amplitude at its middle: Butterworth filters of order 2, forward and
 * backward, have the gain 1/(1 + r⁴) at r times, or by, their edge.
 */
const PACE_GAIN = 1 / (1 + (1 - PACE_SHARE) ** 4) / (1 + (1 / (1 + PACE_SHARE)) ** 4);

/** Amplitude of the tilt at the pace of steps over the moments of a walk, degrees. */
function bobOf({ quaternions }: OrientationTrack, pace: number, sampleRate: number): Float64Array {
  const { tilt } = headingTiltRollFromQuaternions(quaternions);
  const band = bandOf(tilt, sampleRate, pace * (1 - PACE_SHARE), pace * (1 + PACE_SHARE));
  const squares = band.map((value) => value * value);
  // Two moments long: the band holds some two steps, whose power would come and go within one.
  return runningMean(squares, Math.round(2 * HALF_MOMENT * sampleRate)).map(
    (mean) => (Math.sqrt(2 * Math.max(0, mean)) / PACE_GAIN) * DEGREES_PER_RADIAN,
  );
}

/**
 * A smooth turn reaches into the band of steps. Of what raised cosines of rate are faster than 15 °/s,
 * 90° in 2 s leave 0.23 there, 170° in 3 s 0.08, 170° in 1.5 s 0.36, 90° in 1 s 0.71 (computed with the
 * same filters): this share takes out what moves of two seconds leave; faster ones still count in part.
 */
const MOVE_LEAK = { share: 0.3, from: 15 };

/** The shake that is more than what turns of the view leave in its band. */
function besideMoves(shake: Float64Array, rates: Float64Array, reach: number): Float64Array {
  // Steps to and fro cancel in the mean of a second; a turn stays.
  const net = lengths(
    [0, 1, 2].map((axis) =>
      runningMean(
        shake.map((_, k) => rates[3 * k + axis]!),
        reach,
      ),
    ),
  );
  const near = runningLargest(net, 2 * reach);
  return shake.map((value, k) =>
    Math.max(0, value - MOVE_LEAK.share * Math.max(0, near[k]! - MOVE_LEAK.from)),
  );
}

/** A jolt goes and comes back within this time on either side, s. */
const JOLT_SIDE = 0.8;

/**
 * How far the camera leans away and comes back about any of its axes, degrees: the lesser of its turns
 * from and to its orientations 0.8 s before and after, where both go the same way. A turn that stays
 * counts nothing.
 */
function joltsOf({ quaternions }: OrientationTrack, sampleRate: number): Float64Array {
  const n = quaternions.length / 4;
  const side = Math.max(1, Math.round(JOLT_SIDE * sampleRate));
  const inverse = invertQuaternions(quaternions);
  const turnsFrom = (shift: number) =>
    rotationVectorsFromQuaternions(composeQuaternions(inverse, shifted(quaternions, shift)));
  const [before, after] = [turnsFrom(-side), turnsFrom(side)];
  return Float64Array.from({ length: n }, (_, k) => {
    let square = 0;
    for (let axis = 0; axis < 3; axis++) {
      const [a, b] = [before[3 * k + axis]!, after[3 * k + axis]!];
      if (a * b > 0) square += Math.min(Math.abs(a), Math.abs(b)) ** 2;
    }
    return Math.sqrt(square) * DEGREES_PER_RADIAN;
  });
}

/** Each sample's orientation some samples later, those beyond the ends held. */
function shifted(quaternions: Float64Array, by: number): Float64Array {
  const last = quaternions.length / 4 - 1;
  return quaternions.map((_, i) => {
    const k = Math.min(last, Math.max(0, (i >> 2) + by));
    return quaternions[4 * k + (i & 3)]!;
  });
}

/** The largest of the values up to `reach` before and after each. */
function runningLargest(values: Float64Array, reach: number): Float64Array {
  const out = new Float64Array(values.length);
  // Candidates in falling order; those out of reach are dropped at the front.
  const waiting: number[] = [];
  for (let k = 0, next = 0, first = 0; k < out.length; k++) {
    for (; next < values.length && next <= k + reach; next++) {
      while (waiting.length > first && values[waiting[waiting.length - 1]!]! <= values[next]!) {
        waiting.pop();
      }
      waiting.push(next);
    }
    while (waiting[first]! < k - reach) first++;
    out[k] = values[waiting[first]!]!;
  }
  return out;
}

/** Lengths of vectors given by their three components. */
function lengths([x, y, z]: readonly Float64Array[]): Float64Array {
  return x!.map((value, k) => Math.hypot(value, y![k]!, z![k]!));
}

/** How far the view's right side points up or down, degrees. */
function horizonOffLevel(quaternions: Float64Array): Float64Array {
  const right = rotateVectors(quaternions, repeated([1, 0, 0], quaternions.length / 4));
  return Float64Array.from({ length: right.length / 3 }, (_, k) => {
    const level = Math.hypot(right[3 * k]!, right[3 * k + 2]!);
    return Math.abs(Math.atan2(right[3 * k + 1]!, level)) * DEGREES_PER_RADIAN;
  });
}

/** How far a correction turns the optical axis off the middle of the view, degrees. */
function swingsOfAxis(corrections: Float64Array): Float64Array {
  const axis = rotateVectors(corrections, repeated([0, 0, -1], corrections.length / 4));
  return Float64Array.from({ length: axis.length / 3 }, (_, k) => {
    const [x, y, z] = [axis[3 * k]!, axis[3 * k + 1]!, axis[3 * k + 2]!];
    return Math.atan2(Math.hypot(x, y), -z) * DEGREES_PER_RADIAN;
  });
}

function repeated(vector: readonly [number, number, number], n: number): Float64Array {
  return Float64Array.from({ length: 3 * n }, (_, i) => vector[i % 3]!);
}

/** Highest share of the sample rate that a band may reach: above, the rate shows nothing. */
const HIGHEST_SHARE = 0.4;
/** Seconds by which a signal is continued beyond its ends while it is filtered: six periods of the lowest band. */
const PAD = 3;

/** What lies between two frequencies, as far as the rate shows it. */
function bandOf(signal: Float64Array, sampleRate: number, from: number, to: number): Float64Array {
  const pad = Math.round(PAD * sampleRate);
  if (from > HIGHEST_SHARE * sampleRate) return new Float64Array(signal.length);
  const high = filterForwardBackward(butterworthHighPass(from, sampleRate), signal, pad);
  return to > HIGHEST_SHARE * sampleRate
    ? high
    : filterForwardBackward(butterworthLowPass(to, sampleRate), high, pad);
}

/** A stumble that could not be mended is worse than any that could, s. */
const UNMENDED = 2 * MOMENT_CRITERIA.tracker.bad;

/** How long the stumble lasts that a frame lies in, s; a jump of the world lasts no time. */
function stumbles(faults: readonly TrackerFault[], times: Float64Array): Float64Array {
  const out = new Float64Array(times.length);
  for (const { fromSeconds, toSeconds, kind, mended } of faults) {
    const length = mended ? (kind === 'jump' ? 0 : toSeconds - fromSeconds) : UNMENDED;
    for (let k = 0; k < out.length; k++) {
      if (times[k]! < fromSeconds || times[k]! > toSeconds) continue;
      out[k] = Math.max(out[k]!, length);
    }
  }
  return out;
}
