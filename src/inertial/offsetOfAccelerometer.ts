import { TwinkeelError } from '../error.js';
import { clamp } from '../math.js';
import type { AccelerometerLog, MotionLog } from '../track/motionLog.js';
import { evenTimes } from '../track/times.js';
import { vectorsAt } from '../track/vectorsAt.js';

/** When an accelerometer's first row was on a gyroscope's time, s. */
export interface OffsetEstimate {
  readonly offset: number;
  /** Standard deviation, s. */
  readonly deviation: number;
}

/** What an offset that is no better known is worth: nothing, s (our judgement). */
const UNCERTAIN = 0.05;
/** How much larger errors are than of independent values: sway and pace are none (walks of our own). */
const DEPENDENT = 2;

/** Sampling of the search, Hz, and of the refinement. */
const COARSE = 20;
const FINE = 200;
/** Seconds over which a walk's bounce is averaged out of the force: about a step. */
const SMOOTHING = 0.5;
/** How far apart the two starts are sought, s. */
const FARTHEST = 120;
/** Longest stretch that is compared, s: more says no more. */
const LONGEST = 600;
/** Shortest overlap that counts, as a share of the shorter log, and in seconds. */
const OVERLAP = { share: 0.3, least: 4 };
/** How much better the best offset must be than any that is half a second away (our judgement). */
const CLEARLY = 0.85;
/** Largest share of the force's turning that the rates may leave unexplained (our judgement). */
const EXPLAINED = 0.7;

/**
 * When an accelerometer's log starts on a gyroscope's time, told by what both feel: gravity turns in
 * the camera against its rate, ḟ = −ω × f. The mean square of what that leaves over is least at the
 * true offset.
 *
 * @throws TwinkeelError `sync/refused` where no offset is clearly the best
 */
export function offsetOfAccelerometer(
  gyro: MotionLog,
  accelerometer: AccelerometerLog,
): OffsetEstimate {
  const coarse = compared(gyro, accelerometer, COARSE);
  const scores = new Map<number, number>();
  const reach = Math.round(FARTHEST * COARSE);
  let best = { lag: 0, score: Number.POSITIVE_INFINITY };
  for (let lag = -reach; lag <= reach; lag++) {
    const score = misfit(coarse, lag);
    if (score === undefined) continue;
    scores.set(lag, score);
    if (score < best.score) best = { lag, score };
  }
  const others = [...scores].filter(([lag]) => Math.abs(lag - best.lag) > COARSE / 2);
  const next = Math.min(...others.map(([, score]) => score));
  if (!(best.score < EXPLAINED) || (others.length > 0 && best.score > CLEARLY * next)) {
    throw undecided();
  }
  const fine = compared(gyro, accelerometer, FINE);
  const around = Math.round((best.lag * FINE) / COARSE);
  let finest = { lag: around, score: Number.POSITIVE_INFINITY };
  for (let lag = around - FINE / COARSE; lag <= around + FINE / COARSE; lag++) {
    const score = misfit(fine, lag);
    if (score !== undefined && score < finest.score) finest = { lag, score };
  }
  const [a, b, c] = [-1, 0, 1].map((d) => misfit(fine, finest.lag + d) ?? finest.score) as [
    number,
    number,
    number,
  ];
  const bend = a - 2 * b + c;
  const shift = bend > 0 ? clamp((a - c) / (2 * bend), -1, 1) : 0;
  // Least squares: the variance of an offset is twice the misfit over its bend and over the number
  // of independent values, one in each half second and axis.
  const overlap = Math.min(fine.gyro.length, fine.acceleration.length) / 3 / FINE;
  const independent = Math.max(1, (2 * overlap) / SMOOTHING);
  const variance = bend > 0 ? (2 * finest.score) / (bend * independent) : 1;
  const deviation = (DEPENDENT * Math.sqrt(variance)) / FINE;
  if (deviation > UNCERTAIN) throw undecided();
  return { offset: (finest.lag + shift) / FINE, deviation };
}

function undecided(): TwinkeelError {
  return new TwinkeelError('sync/refused', {
    found:
      'a gyroscope and an accelerometer whose motion does not show when the one started after the other',
    expected: 'turns that tilt the camera, seen by both, or absolute stamps in both files',
    remedy:
      'tilt the camera to and fro a few times at the start of a take, or state the offset in seconds',
  });
}

/** Both sensors evenly sampled and smoothed alike; n and m samples. */
interface Compared {
  /** Rates, rad/s, 3n. */
  readonly gyro: Float64Array;
  /** Acceleration over its mean size, 3m. */
  readonly acceleration: Float64Array;
  /** Its derivative, per second, 3m. */
  readonly change: Float64Array;
  readonly sampleRate: number;
}

function compared(gyro: MotionLog, accelerometer: AccelerometerLog, sampleRate: number): Compared {
  const even = (times: Float64Array, vectors: Float64Array) => {
    const last = Math.min(times[times.length - 1]!, LONGEST + FARTHEST);
    return smoothed(vectorsAt(times, vectors, evenTimes(last, 1 / sampleRate)), sampleRate);
  };
  const rates = withoutMean(even(gyro.times, gyro.rate));
  const acceleration = even(accelerometer.times, accelerometer.acceleration);
  const m = acceleration.length / 3;
  let size = 0;
  for (let k = 0; k < m; k++) {
    size +=
      Math.hypot(acceleration[3 * k]!, acceleration[3 * k + 1]!, acceleration[3 * k + 2]!) / m;
  }
  const change = new Float64Array(acceleration.length);
  for (let i = 0; i < acceleration.length; i++) acceleration[i]! /= size || 1;
  for (let i = 3; i < acceleration.length - 3; i++)
    change[i] = ((acceleration[i + 3]! - acceleration[i - 3]!) * sampleRate) / 2;
  return { gyro: rates, acceleration, change, sampleRate };
}

/** A bias of the gyroscope turns nothing that the force would follow. */
function withoutMean(vectors: Float64Array): Float64Array {
  const mean = [0, 0, 0];
  for (let i = 0; i < vectors.length; i++) mean[i % 3]! += (3 * vectors[i]!) / vectors.length;
  return vectors.map((value, i) => value - mean[i % 3]!);
}

/** Two running means of {@link SMOOTHING} one after the other: a triangle, without phase. */
function smoothed(vectors: Float64Array, sampleRate: number): Float64Array {
  const half = Math.max(1, Math.round((SMOOTHING * sampleRate) / 2));
  return runningMean(runningMean(vectors, half), half);
}

function runningMean(vectors: Float64Array, half: number): Float64Array {
  const n = vectors.length / 3;
  const out = new Float64Array(vectors.length);
  for (let axis = 0; axis < 3; axis++) {
    let sum = 0;
    let count = 0;
    for (let k = -half; k < n; k++) {
      if (k + half < n) {
        sum += vectors[3 * (k + half) + axis]!;
        count++;
      }
      if (k - half - 1 >= 0) {
        sum -= vectors[3 * (k - half - 1) + axis]!;
        count--;
      }
      if (k >= 0) out[3 * k + axis] = sum / count;
    }
  }
  return out;
}

/** Mean square of ḟ + ω × f over that of ḟ, the force `lag` samples later than the rate. */
function misfit(
  { gyro, acceleration, change, sampleRate }: Compared,
  lag: number,
): number | undefined {
  const n = gyro.length / 3;
  const m = acceleration.length / 3;
  const from = Math.max(1, -lag);
  const to = Math.min(m - 1, n - lag);
  const least = Math.max(OVERLAP.least * sampleRate, OVERLAP.share * Math.min(n, m));
  if (to - from < least) return undefined;
  let left = 0;
  let all = 0;
  for (let k = from; k < to; k++) {
    const i = 3 * k;
    const j = 3 * (k + lag);
    const x = gyro[j]!;
    const y = gyro[j + 1]!;
    const z = gyro[j + 2]!;
    const fx = acceleration[i]!;
    const fy = acceleration[i + 1]!;
    const fz = acceleration[i + 2]!;
    const dx = change[i]!;
    const dy = change[i + 1]!;
    const dz = change[i + 2]!;
    const ex = dx + y * fz - z * fy;
    const ey = dy + z * fx - x * fz;
    const ez = dz + x * fy - y * fx;
    left += ex * ex + ey * ey + ez * ez;
    all += dx * dx + dy * dy + dz * dz;
  }
  return all > 0 ? left / all : undefined;
}
