import { convolveCentred } from '../numeric/convolution.js';
import { rotateVectors } from '../rotation/arrays.js';
import type { Quaternion, Vector3 } from '../rotation/quaternion.js';
import { integrateRate } from '../track/integrate.js';
import { interpolateTrack } from '../track/resample.js';
import { medianInterval } from '../track/times.js';

/** Rows of a log around the clip. */
export interface LogRows {
  /** Log times, s. */
  readonly times: Float64Array;
  /** Angular rate in sensor axes, rad/s. */
  readonly rate: Float64Array;
}

/** What turns a log's rates into those that the picture saw. */
export interface Calibration {
  /** True rate over logged rate, about each sensor axis. */
  readonly gain: Vector3;
  /** Constant error, rad/s in sensor axes, taken off after the gain. */
  readonly bias: Vector3;
  /** Variance in time of the bell by which the picture's track was smoothed, s². */
  readonly smoothing: number;
}

/** A log as it stands. */
export const AS_LOGGED: Calibration = { gain: [1, 1, 1], bias: [0, 0, 0], smoothing: 0 };

/** A log with its calibration, ready to be asked at the picture's frames. */
export interface LoggedMotion {
  readonly rows: LogRows;
  readonly calibration: Calibration;
  /** Calibrated rates and the orientation integrated from them, sensor axes. */
  readonly rate: Float64Array;
  readonly quaternions: Float64Array;
}

/** Applies a calibration and integrates: O(rows). */
export function loggedMotion(rows: LogRows, calibration: Calibration): LoggedMotion {
  const { gain, bias, smoothing } = calibration;
  const calibrated = rows.rate.map((value, i) => gain[i % 3]! * value - bias[i % 3]!);
  const rate = smoothRates(calibrated, smoothing, medianInterval(rows.times));
  return { rows, calibration, rate, quaternions: integrateRate(rows.times, rate) };
}

/** Rates under a bell of a given variance in time; rows are taken as even. */
function smoothRates(rates: Float64Array, variance: number, interval: number): Float64Array {
  const inRows = variance / interval ** 2;
  if (inRows <= 0) return rates;
  // Three values have any small variance exactly; a sampled bell only from half a row on.
  const half = inRows < 0.25 ? 1 : Math.ceil(4 * Math.sqrt(inRows));
  const bell = Float64Array.from({ length: 2 * half + 1 }, (_, j) =>
    inRows < 0.25
      ? j === 1
        ? 1 - inRows
        : inRows / 2
      : Math.exp((-0.5 * (j - half) ** 2) / inRows),
  );
  const sum = bell.reduce((a, b) => a + b, 0);
  const kernel = bell.map((weight) => weight / sum);
  const out = new Float64Array(rates.length);
  for (let axis = 0; axis < 3; axis++) {
    const own = Float64Array.from(
      { length: rates.length / 3 },
      (_, k) => rates[3 * k + axis]!,
    );
    convolveCentred(own, kernel, 'hold').forEach((value, k) => {
      out[3 * k + axis] = value;
    });
  }
  return out;
}

/** Orientation of the sensor at log times, from its own first row. */
export function orientationAt({ rows, quaternions }: LoggedMotion, at: Float64Array): Float64Array {
  return interpolateTrack({ times: rows.times, quaternions, up: 'unknown', warnings: [] }, at);
}

/** Vectors of length 3 on straight lines between the rows, held at the ends. */
export function vectorsAt(
  times: Float64Array,
  vectors: Float64Array,
  at: Float64Array,
  shift = 0,
): Float64Array {
  const last = times.length - 1;
  const out = new Float64Array(3 * at.length);
  const perSecond = last / (times[last]! - times[0]!);
  let k = 0;
  for (let m = 0; m < at.length; m++) {
    const time = at[m]! + shift;
    const guess = Math.floor((time - times[0]!) * perSecond) - 2;
    if (guess > k && guess < last && times[guess]! <= time) k = guess;
    while (k < last - 1 && times[k + 1]! <= time) k++;
    const share = Math.min(Math.max((time - times[k]!) / (times[k + 1]! - times[k]!), 0), 1);
    for (let axis = 0; axis < 3; axis++) {
      const a = vectors[3 * k + axis]!;
      out[3 * m + axis] = a + share * (vectors[3 * k + 3 + axis]! - a);
    }
  }
  return out;
}

/** Which part of the calibration a derivative belongs to. */
export type CalibrationPart = 'gain' | 'bias';

/**
 * How the orientation at log times turns, left of it, per unit of gain or bias about one sensor axis:
 * the integral of G e_i ω_i or of −G e_i. Rates before the gain are used for the gain.
 *
 * @returns three lists of rotation vectors in the frame of the log's first row, length 3 · at.length
 */
export function calibrationDerivatives(
  { rows, quaternions }: LoggedMotion,
  part: CalibrationPart,
  at: Float64Array,
): Float64Array[] {
  const { times, rate } = rows;
  const n = times.length;
  return [0, 1, 2].map((axis) => {
    const own = new Float64Array(3 * n);
    for (let k = 0; k < n; k++) own[3 * k + axis] = part === 'gain' ? rate[3 * k + axis]! : -1;
    const turned = rotateVectors(quaternions, own);
    const sums = new Float64Array(3 * n);
    for (let k = 1; k < n; k++) {
      const half = (times[k]! - times[k - 1]!) / 2;
      for (let j = 3 * k; j < 3 * k + 3; j++) {
        sums[j] = sums[j - 3]! + half * (turned[j - 3]! + turned[j]!);
      }
    }
    return vectorsAt(times, sums, at);
  });
}

/** Calibrated rate in camera axes at log times, rad/s, and by how much it grows per second. */
export function rateAndGrowth(
  { rows, rate }: LoggedMotion,
  axes: Quaternion,
  at: Float64Array,
): { rate: Float64Array; growth: Float64Array } {
  const earlier = vectorsAt(rows.times, rate, at, -GROWTH_STEP);
  const later = vectorsAt(rows.times, rate, at, GROWTH_STEP);
  return {
    rate: rotateVectors(axes, vectorsAt(rows.times, rate, at)),
    growth: rotateVectors(
      axes,
      later.map((value, i) => (value - earlier[i]!) / (2 * GROWTH_STEP)),
    ),
  };
}

/** Either way, s: within the fastest motion that smoothing is told by. */
const GROWTH_STEP = 0.01;
