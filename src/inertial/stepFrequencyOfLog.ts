import {
  butterworthHighPass,
  butterworthLowPass,
  filterForwardBackward,
} from '../numeric/filterDesign.js';
import { median } from '../numeric/quantile.js';
import type { AccelerometerLog, MotionLog } from '../track/motionLog.js';
import { evenTimes } from '../track/times.js';
import { vectorsAt } from '../track/vectorsAt.js';

/** The steps of whoever carries a log. */
export interface StepsOfLog {
  /** Seconds from the log's first sample, evenly spaced; length n. */
  readonly times: Float64Array;
  /** Steps per second; 0 where nobody walks; length n. */
  readonly frequency: Float64Array;
  /** Seconds from the log's first sample at which a foot pushed hardest. */
  readonly stepTimes: Float64Array;
}

/** Samples per second of the answer: thirty for each step. */
const SAMPLE_RATE = 50;
/** Steps per second from a stroll to a sprint (common practice, no source). */
const STEPS = { from: 1, to: 4 };
/** Smallest swing of the force's size that is a step, m/s² (our judgement). */
const SWING = 0.4;
/** A step's force swings at least this share of the steps around it. */
const LIKE_OTHERS = 0.35;
/** The pace does not change by more than this from one step to the next, as a ratio. */
const STEADY = 1.5;

/**
 * When the feet of whoever carries the camera push off, from the size of the specific force: it does
 * not depend on how the sensor sits, nor on the horizon.
 *
 * @param log - with an accelerometer; or an accelerometer's log
 * @returns nothing but zeros for a log without an accelerometer
 * @example
 * const { frequency, stepTimes } = stepFrequencyOfLog(log);
 * stepTimes.length; // 31
 * Math.max(...frequency); // 1.9402 a second
 */
export function stepFrequencyOfLog(log: MotionLog | AccelerometerLog): StepsOfLog {
  const times = evenTimes(log.times[log.times.length - 1]!, 1 / SAMPLE_RATE);
  const n = times.length;
  if (!log.acceleration || n < 2 * SAMPLE_RATE) {
    return { times, frequency: new Float64Array(n), stepTimes: new Float64Array(0) };
  }
  const acceleration = vectorsAt(log.times, log.acceleration, times);
  const size = Float64Array.from(times, (_, k) =>
    Math.hypot(acceleration[3 * k]!, acceleration[3 * k + 1]!, acceleration[3 * k + 2]!),
  );
  const mean = size.reduce((sum, value) => sum + value, 0) / n;
  const swinging = filterForwardBackward(
    butterworthHighPass(0.7 * STEPS.from, SAMPLE_RATE),
    filterForwardBackward(
      butterworthLowPass(STEPS.to, SAMPLE_RATE),
      size.map((value) => value - mean),
      2 * SAMPLE_RATE,
    ),
    2 * SAMPLE_RATE,
  );
  const peaks = walkingPeaks(swinging);
  return { times, ...pace(peaks, n) };
}

/** Places of the peaks that swing like steps, in samples. */
function walkingPeaks(swinging: Float64Array): number[] {
  const n = swinging.length;
  const apart = SAMPLE_RATE / STEPS.to;
  const peaks: { at: number; height: number }[] = [];
  for (let k = 1; k + 1 < n; k++) {
    const [before, here, after] = [swinging[k - 1]!, swinging[k]!, swinging[k + 1]!];
    if (here < SWING / 2 || here <= before || here < after) continue;
    const bend = before - 2 * here + after;
    const at = k + (bend < 0 ? (before - after) / (2 * bend) : 0);
    const last = peaks[peaks.length - 1];
    if (last && at - last.at < apart) {
      if (here > last.height) peaks[peaks.length - 1] = { at, height: here };
    } else peaks.push({ at, height: here });
  }
  return peaks
    .filter(({ height }, j) => {
      const around = peaks.slice(Math.max(0, j - 2), j + 3).map((peak) => peak.height);
      return height >= LIKE_OTHERS * median(around);
    })
    .map(({ at }) => at);
}

/** Times of the steps that belong to a walk, and their frequency between them. */
function pace(peaks: readonly number[], n: number): Omit<StepsOfLog, 'times'> {
  const frequency = new Float64Array(n);
  const steps = new Set<number>();
  for (let j = 1; j < peaks.length; j++) {
    const span = peaks[j]! - peaks[j - 1]!;
    if (span > SAMPLE_RATE / STEPS.from) continue;
    const near = [
      peaks[j - 1]! - (peaks[j - 2] ?? Number.NaN),
      (peaks[j + 1] ?? Number.NaN) - peaks[j]!,
    ];
    // One swing is no walk: a neighbour must have the same pace.
    if (!near.some((other) => other < STEADY * span && span < STEADY * other)) continue;
    steps.add(peaks[j - 1]!);
    steps.add(peaks[j]!);
    for (let k = Math.ceil(peaks[j - 1]!); k <= peaks[j]! && k < n; k++)
      frequency[k] = SAMPLE_RATE / span;
  }
  return {
    frequency: smoothedPace(frequency),
    stepTimes: Float64Array.from(steps, (at) => at / SAMPLE_RATE).sort(),
  };
}

/** The pace over about a second and a half, where there is one. */
function smoothedPace(frequency: Float64Array): Float64Array {
  const half = Math.round(0.75 * SAMPLE_RATE);
  return frequency.map((value, k) => {
    if (value === 0) return 0;
    let sum = 0;
    let count = 0;
    for (let j = Math.max(0, k - half); j <= Math.min(frequency.length - 1, k + half); j++) {
      if (frequency[j]! > 0) {
        sum += frequency[j]!;
        count++;
      }
    }
    return sum / count;
  });
}
