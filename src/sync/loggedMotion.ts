import { clamp } from '../math.js';
import { convolveCentred, normalisedKernel } from '../numeric/convolution.js';
import { composeQuaternions, normalizeQuaternions, rotateVectors } from '../rotation/arrays.js';
import type { Quaternion, Vector3 } from '../rotation/quaternion.js';
import { integrateRate } from '../track/integrate.js';
import { interpolateTrack } from '../track/resample.js';

/** Rows of a log around the clip. */
export interface LogRows {
  /** Log times, s. */
  readonly times: Float64Array;
  /** Angular rate in sensor axes, rad/s. */
  readonly rate: Float64Array;
  /** Usual time between rows, s. */
  readonly interval: number;
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
  const calibrated = new Float64Array(rows.rate.length);
  for (let i = 0; i < calibrated.length; i += 3) {
    calibrated[i] = gain[0] * rows.rate[i]! - bias[0];
    calibrated[i + 1] = gain[1] * rows.rate[i + 1]! - bias[1];
    calibrated[i + 2] = gain[2] * rows.rate[i + 2]! - bias[2];
  }
  const kernel = bell(smoothing / rows.interval ** 2);
  const sharp = integrateRate(rows.times, calibrated);
  if (!kernel) return { rows, calibration, rate: calibrated, quaternions: sharp };
  return {
    rows,
    calibration,
    rate: smoothed(calibrated, 3, kernel),
    // The mean of neighbouring orientations, as a tracker makes it; mean rates would turn the axes.
    quaternions: normalizeQuaternions(smoothed(sharp, 4, kernel)),
  };
}

/** Weights of a bell with a given variance in rows; undefined for none. */
function bell(variance: number): Float64Array | undefined {
  if (variance <= 0) return undefined;
  // Three values have any small variance exactly; a sampled bell only from half a row on.
  if (variance < 0.25) return Float64Array.of(variance / 2, 1 - variance, variance / 2);
  const half = Math.ceil(4 * Math.sqrt(variance));
  const weights = Float64Array.from({ length: 2 * half + 1 }, (_, j) =>
    Math.exp((-0.5 * (j - half) ** 2) / variance),
  );
  return normalisedKernel(weights);
}

/** Each component of interleaved values under a kernel; rows are taken as even. */
function smoothed(values: Float64Array, stride: number, kernel: Float64Array): Float64Array {
  const out = new Float64Array(values.length);
  const own = new Float64Array(values.length / stride);
  for (let axis = 0; axis < stride; axis++) {
    for (let k = 0; k < own.length; k++) own[k] = values[stride * k + axis]!;
    const mean = convolveCentred(own, kernel, 'hold');
    for (let k = 0; k < own.length; k++) out[stride * k + axis] = mean[k]!;
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
    const share = clamp((time - times[k]!) / (times[k + 1]! - times[k]!), 0, 1);
    for (let axis = 0; axis < 3; axis++) {
      const a = vectors[3 * k + axis]!;
      out[3 * m + axis] = a + share * (vectors[3 * k + 3 + axis]! - a);
    }
  }
  return out;
}

/** How the orientation at log times turns per unit of gain and bias about each sensor axis. */
export interface CalibrationDerivatives {
  /** Rotation vectors, camera axes at the log's first row; one list of length 3m per axis. */
  readonly gain: readonly Float64Array[];
  readonly bias: readonly Float64Array[];
}

/**
 * The integrals of C G e_i ω_i and of −C G e_i up to log times, with the rates ω before the gain: turns
 * left of the orientation. One pass, O(rows + m).
 *
 * @param axes - C, sensor axes to camera axes
 * @param at - increasing; length m
 */
export function calibrationDerivatives(
  { rows, quaternions }: LoggedMotion,
  axes: Quaternion,
  at: Float64Array,
): CalibrationDerivatives {
  const { times, rate } = rows;
  const last = times.length - 1;
  const turned = composeQuaternions(axes, quaternions);
  const lists = () => [0, 1, 2].map(() => new Float64Array(3 * at.length));
  const [gain, bias] = [lists(), lists()];
  // Eighteen running sums: entry 3 axis + component for the gain, nine further for the bias.
  let sums = new Float64Array(18);
  let before = new Float64Array(18);
  let values = new Float64Array(18);
  let next = new Float64Array(18);
  writeIntegrands(turned, rate, 0, values);
  let m = 0;
  for (let k = 1; k <= last && m < at.length; k++) {
    writeIntegrands(turned, rate, k, next);
    const step = times[k]! - times[k - 1]!;
    [before, sums] = [sums, before];
    for (let i = 0; i < 18; i++) sums[i] = before[i]! + (step / 2) * (values[i]! + next[i]!);
    for (; m < at.length && (at[m]! <= times[k]! || k === last); m++) {
      const share = clamp((at[m]! - times[k - 1]!) / step, 0, 1);
      for (let i = 0; i < 9; i++) {
        const [axis, j] = [(i / 3) | 0, i % 3];
        gain[axis]![3 * m + j] = before[i]! + share * (sums[i]! - before[i]!);
        bias[axis]![3 * m + j] = before[i + 9]! + share * (sums[i + 9]! - before[i + 9]!);
      }
    }
    [values, next] = [next, values];
  }
  return { gain, bias };
}

/** Writes the columns of the rotation at a row, times its rates and negated: 18 values. */
function writeIntegrands(
  turned: Float64Array,
  rate: Float64Array,
  k: number,
  out: Float64Array,
): void {
  writeColumns(turned, k, out);
  for (let i = 0; i < 9; i++) {
    out[i + 9] = -out[i]!;
    out[i]! *= rate[3 * k + ((i / 3) | 0)]!;
  }
}

/** Writes where a rotation takes the three axes: its matrix, column by column. */
export function writeColumns(quaternions: Float64Array, k: number, out: Float64Array): void {
  const x = quaternions[4 * k]!;
  const y = quaternions[4 * k + 1]!;
  const z = quaternions[4 * k + 2]!;
  const w = quaternions[4 * k + 3]!;
  out[0] = 1 - 2 * (y * y + z * z);
  out[1] = 2 * (x * y + z * w);
  out[2] = 2 * (x * z - y * w);
  out[3] = 2 * (x * y - z * w);
  out[4] = 1 - 2 * (x * x + z * z);
  out[5] = 2 * (y * z + x * w);
  out[6] = 2 * (x * z + y * w);
  out[7] = 2 * (y * z - x * w);
  out[8] = 1 - 2 * (x * x + y * y);
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
